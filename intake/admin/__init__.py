"""Riders, their checks and their mail in the owner's back room; Django loads this package for its registrations."""

from intake.admin import checks, mail, repairs, riders, snapshots

__all__ = ["checks", "mail", "repairs", "riders", "snapshots"]
