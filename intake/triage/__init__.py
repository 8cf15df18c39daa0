"""Decide what a rider's answers mean for a session: findings, forecast, verdict, deadlines. Values in, values out."""
