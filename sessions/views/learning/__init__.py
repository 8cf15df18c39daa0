"""What the studio has learned, and how good its forecasts were, for owners."""
