"""What a studio's own sessions teach the forecast, and how good its forecasts were. Values in, values out."""
