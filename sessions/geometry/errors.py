"""What can be wrong with a measurement, each with the offending value and a sentence for the field it came from."""

from __future__ import annotations


class MeasureError(ValueError):
    """Base of every refusal by the geometry and the tape.

    Parameters
    ----------
    sentence : str
        What is wrong, in the words of the person who typed it.
    value : object
        The offending value as it arrived.
    key : str
        The reading, body measure or field that it belongs to; empty where there is none.
    """

    def __init__(self, sentence: str, *, value: object = None, key: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.value = value
        self.key = key


class NotANumberError(MeasureError):
    """A value that is not a finite number."""


class OutOfLimitsError(MeasureError):
    """A finite value that no bike or body has.

    ``low`` and ``high`` are the limits in the value's own unit; ``hint`` says what was probably meant, or is empty.
    """

    def __init__(self, sentence: str, *, value: float, low: float, high: float, hint: str = "", key: str = "") -> None:
        super().__init__(sentence, value=value, key=key)
        self.low = low
        self.high = high
        self.hint = hint


class BadSigmaError(MeasureError):
    """A measuring uncertainty that is zero, negative or not a number."""


class UnknownPointError(MeasureError):
    """A named point that the position does not hold."""


class UnknownKeyError(MeasureError):
    """A key that names no reading, body measure or dimension."""


class BadPositionError(MeasureError):
    """Coordinates and covariance that cannot belong together."""


class ImpossibleTriangleError(MeasureError):
    """Thigh, shank and hip-to-ankle distance that close no triangle."""


class InsertionError(MeasureError):
    """A seatpost that is not far enough inside the frame; ``short_mm`` says by how much."""

    def __init__(self, sentence: str, *, value: float, short_mm: float) -> None:
        super().__init__(sentence, value=value, key="inserted_mm")
        self.short_mm = short_mm
