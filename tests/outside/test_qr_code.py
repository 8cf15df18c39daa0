"""The QR code against ISO/IEC 18004 (from memory of the standard; its figures are printed in every description of the code)."""

import pytest

from sessions.sheets.qr import QUIET_MODULES, qr_modules

FINDER = ("1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111")
# ISO/IEC 18004 table 7: characters in byte mode at error correction level M, by version.
BYTES_AT_M = {1: 14, 2: 26, 3: 42, 4: 62, 5: 84, 6: 106, 7: 122}
# ISO/IEC 18004 annex C: format information is a BCH(15,5) code word with this generator, masked with this pattern.
GENERATOR, MASK, LEVEL_M = 0b10100110111, 0b101010000010010, 0b00
ADDRESS = "https://fit.wrenfield.example/w/kQ3sd8sjd83jd8sj.0123456789abcdef01234567/"


def part(modules, top, left):
    return tuple("".join("01"[dark] for dark in row[left : left + 7]) for row in modules[top : top + 7])


@pytest.mark.parametrize(("version", "most"), BYTES_AT_M.items())
def test_size_follows_from_how_much_it_holds(version, most):
    """Clause 5.3.1: 17 + 4 × version modules a side; the smallest version that holds the text is taken."""
    assert len(qr_modules("a" * most)) == 17 + 4 * version
    assert len(qr_modules("a" * (most + 1))) > 17 + 4 * version


def test_finder_and_timing_patterns_are_where_a_reader_looks_for_them():
    """Clauses 5.3.3 and 5.3.5: three finder patterns, and alternating modules between them in row and column six."""
    modules = qr_modules(ADDRESS)
    side = len(modules)
    for top, left in ((0, 0), (0, side - 7), (side - 7, 0)):
        assert part(modules, top, left) == FINDER
    between = range(8, side - 8)
    assert [modules[6][place] for place in between] == [place % 2 == 0 for place in between]
    assert [modules[place][6] for place in between] == [place % 2 == 0 for place in between]


def test_format_information_names_the_level_and_checks():
    """Annex C: both bits of level M, and a remainder of nothing."""
    modules = qr_modules(ADDRESS)
    places = [(8, column) for column in (0, 1, 2, 3, 4, 5, 7, 8)] + [(row, 8) for row in (7, 5, 4, 3, 2, 1, 0)]
    word = int("".join("01"[modules[row][column]] for row, column in places), 2) ^ MASK
    assert word >> 13 == LEVEL_M
    for bit in range(14, 9, -1):
        if word >> bit & 1:
            word ^= GENERATOR << (bit - 10)
    assert word == 0


def test_the_quiet_zone_is_four_modules():
    """Clause 5.3.8."""
    assert QUIET_MODULES == 4
