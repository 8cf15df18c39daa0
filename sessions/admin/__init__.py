"""The studio, its diary and its fit records in the owner's back room; Django loads this package for its registrations."""

from sessions.admin import diary, fits, studios

__all__ = ["diary", "fits", "studios"]
