"""What came of the studio's sessions, computed from plain values: verdicts, forecasts, minutes kept, repairs."""
