"""The studio as the head of every print names it."""

from sessions.models import Studio
from sessions.sheets import content


def letterhead(studio: Studio) -> content.Studio:
    """Return name, address line by line, telephone and e-mail."""
    lines = tuple(line.strip() for line in studio.address.splitlines() if line.strip())
    phone = studio.phone.as_international if studio.phone else ""
    return content.Studio(studio.name, lines, phone, studio.email)
