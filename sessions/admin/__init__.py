"""The studio, its diary and its fit records in the owner's back room; Django loads this package for its registrations."""

from sessions.admin import costs, diary, fits, studios

__all__ = ["costs", "diary", "fits", "studios"]
