"""Text as a hurried person types it: without capitals, accents and punctuation of telephone numbers."""

import unicodedata

# Letters that Unicode does not take apart into a base letter and a mark.
PLAIN_LETTERS = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "æ": "ae", "œ": "oe", "ħ": "h", "ŋ": "n", "ŧ": "t"}
)
PHONE_SIGNS = frozenset("0123456789+()-./ \u00a0")
SHORTEST_PHONE_PART = 4


def fold(text: str) -> str:
    """Return text in the form in which two spellings of one name meet.

    >>> fold("  Zofia ŁĄCKA ")
    'zofia lacka'
    >>> fold("Ελένη") == fold("ΕΛΕΝΗ")
    True
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(bare.translate(PLAIN_LETTERS).split())


def digits(text: str) -> str:
    """Return the digits of a text.

    >>> digits("+44 (0)1632 960 001")
    '4401632960001'
    """
    return "".join(sign for sign in text if sign in "0123456789")


def search_words(typed: str) -> list[str]:
    """Return the words that must all be found for what was typed; a telephone number is one word of digits.

    >>> search_words("Łącka zofia")
    ['lacka', 'zofia']
    >>> search_words("01632 960-001")
    ['01632960001']
    """
    if set(typed) <= PHONE_SIGNS and len(digits(typed)) >= SHORTEST_PHONE_PART:
        return [digits(typed)]
    return fold(typed).split()
