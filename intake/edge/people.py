"""What people are called, as they type it: any name in any script, without what a page or a print cannot show."""

import re
import unicodedata

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

# Marks that turn the text around them the other way (UAX #9): invisible, needed in no name, able to garble a page.
TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")

WEB_ADDRESS = re.compile(r"://|\bwww\.|\.[a-z]{2,}/", re.IGNORECASE)


def tidy_line(text: str) -> str:
    """Return one line of text as it is kept: composed, single spaces, no invisible turning marks.

    >>> tidy_line("  Zoë   van\\tDijk ")
    'Zoë van Dijk'
    """
    return " ".join(TURNING.sub("", unicodedata.normalize("NFC", text)).split())


def validate_readable(text: str) -> None:
    """Refuse control characters, and text without a single letter or number of any script."""
    if any(unicodedata.category(sign) == "Cc" for sign in text):
        raise ValidationError(_("Some of these characters cannot be printed. Please type the text again."))
    if not any(unicodedata.category(sign)[0] in "LN" for sign in text):
        raise ValidationError(_("Write this in letters; those of any script will do."))


def validate_no_address(text: str) -> None:
    """Refuse a web address: what a stranger types at the public form stands in a mail to whatever address they type beside it."""
    if WEB_ADDRESS.search(text):
        raise ValidationError(_("Please leave web addresses out here."))


def validate_latin(text: str) -> None:
    """Refuse letters that are not Latin."""
    foreign = [sign for sign in text if sign.isalpha() and "LATIN" not in unicodedata.name(sign, "")]
    if foreign:
        raise ValidationError(
            _("“%(sign)s” is not a Latin letter. Write here how your name is spelled in Latin letters."),
            params={"sign": foreign[0]},
        )


class LineField(forms.CharField):
    """One line of readable text, such as a name; its clean value is tidy."""

    default_validators = [validate_readable]

    def to_python(self, value: object) -> str:
        """Tidy before anything is measured or refused."""
        return tidy_line(super().to_python(value))


class NameField(LineField):
    """What somebody or something is called."""

    default_validators = [validate_readable, validate_no_address]


class LatinField(NameField):
    """A name in Latin letters."""

    default_validators = [validate_readable, validate_no_address, validate_latin]
