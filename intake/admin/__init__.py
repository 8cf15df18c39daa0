"""Riders, their checks and their mail in the owner's back room; Django loads this package for its registrations."""

from intake.admin import checks, mail, riders, snapshots

__all__ = ["checks", "mail", "riders", "snapshots"]
