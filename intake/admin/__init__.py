"""Riders, their checks and their mail in the owner's back room; Django loads this package for its registrations."""

from intake.admin import checks, editions, experience, mail, reminders, repairs, requests, riders, snapshots, workshops

__all__ = [
    "checks",
    "editions",
    "experience",
    "mail",
    "reminders",
    "repairs",
    "requests",
    "riders",
    "snapshots",
    "workshops",
]
