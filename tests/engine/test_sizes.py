"""Sizes as smiths type them.

One inch is 25.4 mm exactly, by the international yard and pound agreement of 1959. The expected values
are worked out by hand as fractions of that.
"""

import math
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patternsim.errors import UsageError
from patternsim.sizes import (
    SizeError,
    both,
    format_exact,
    format_exact_number,
    format_length,
    format_number,
    parse_length,
    parse_number,
    told_in,
)

INCH = F("25.4")

READ = [
    # text, units, mm
    # A dot and a comma are decimal marks wherever the program runs: 12.3 is never 123.
    ("12.3", "mm", F("12.3")),
    ("12,3", "mm", F("12.3")),
    ("1,5 mm", "mm", F("1.5")),
    ("28.6 mm", "mm", F("28.6")),
    ("28,6", "mm", F("28.6")),
    ("28,6mm", "in", F("28.6")),
    ("1,234", "mm", F("1.234")),
    (".5", "mm", F("0.5")),
    (",5", "mm", F("0.5")),
    ("5.", "mm", F(5)),
    ("0", "mm", F(0)),
    ("007", "mm", F(7)),
    ("40", "mm", F(40)),
    ("40", "in", 40 * INCH),
    ("  40  ", "mm", F(40)),
    ("40\N{NO-BREAK SPACE}mm", "mm", F(40)),
    # Fractions: 1/2 is never 0.2, and 1 1/8 never 1/8.
    ("1/2", "in", INCH / 2),
    ("1/2", "mm", F(1, 2)),
    ("3/16", "in", 3 * INCH / 16),
    ('3/16"', "mm", 3 * INCH / 16),
    ('3/16"', "in", 3 * INCH / 16),
    ("1 1/8", "in", 9 * INCH / 8),
    ("1 1/8 in", "mm", F("28.575")),
    ('1 1/8"', "mm", F("28.575")),
    ('1-1/8"', "mm", F("28.575")),
    ("1-1/8 in", "mm", F("28.575")),
    ("1–1/8 in", "mm", F("28.575")),  # an en dash, as text programs put it
    ("1 1/8 in.", "mm", F("28.575")),
    ("1.125in", "mm", F("28.575")),
    ("1,125 inches", "mm", F("28.575")),
    ("1 INCH", "mm", INCH),
    ("1 1\N{FRACTION SLASH}8 in", "mm", F("28.575")),
    ("½", "in", INCH / 2),
    ("⅛ in", "mm", INCH / 8),
    ("1½", "in", 3 * INCH / 2),
    ("1 ½", "in", 3 * INCH / 2),
    ("1-½″", "mm", 3 * INCH / 2),
    ("1⅞”", "mm", 15 * INCH / 8),
    ("11/2", "in", 11 * INCH / 2),
    # Feet.
    ("2 ft 3 in", "mm", 27 * INCH),
    ("2ft3in", "mm", 27 * INCH),
    ("2'3\"", "mm", 27 * INCH),
    ("2' 3 1/2\"", "mm", F("698.5")),
    ("2'-3 1/2\"", "mm", F("698.5")),
    ("2′ 3½″", "mm", F("698.5")),
    ("2\u20193\u201d", "mm", 27 * INCH),
    ("2'3", "mm", 27 * INCH),
    ("2'3''", "mm", 27 * INCH),
    ("1/2 ft", "mm", 6 * INCH),
    ("2 feet", "in", 24 * INCH),
    ("-2'3\"", "mm", -27 * INCH),
    ("2' - 3\"", "mm", 21 * INCH),
    # Other units.
    ("3 cm", "mm", F(30)),
    ("0,5 m", "mm", F(500)),
    ("1 m + 20 cm", "in", F(1200)),
    ("28.6 millimetres", "in", F("28.6")),
    # Signs and sums. With a space beside it a minus takes away.
    ("-3", "mm", F(-3)),
    ("+3", "mm", F(3)),
    ("−3", "mm", F(-3)),
    ("- 1 1/8\"", "mm", F("-28.575")),
    ("1 - 1/8", "in", 7 * INCH / 8),
    ("1 -1/8", "in", 7 * INCH / 8),
    ("1-1/8", "in", 9 * INCH / 8),
    ("1−1/8", "in", 7 * INCH / 8),  # a minus sign proper is no hyphen
    ("3/4-1/8", "in", 5 * INCH / 8),
    ("1 1/8-1/16", "in", 17 * INCH / 16),
    ("1.5-1/2", "in", INCH),
    ("40-2", "mm", F(38)),
    ("2*1 1/8\"", "mm", F("57.15")),
    ("1 1/8\" * 2", "mm", F("57.15")),
    ("4 3/16 in / 2", "mm", 67 * INCH / 32),
    ("6 / 3/4", "mm", F(8)),
    ("(1/2 + 1/4) in", "mm", 3 * INCH / 4),
    ("2*(10+5)", "mm", F(30)),
    ("(6/3)/4", "mm", F(1, 2)),
    ("40 mm + 5", "mm", F(45)),
    ("40 mm + 1/8 in", "mm", F("43.175")),
    ("1/8\" + 1/4", "in", 3 * INCH / 8),
    ("-(2+3)", "mm", F(-5)),
    ("3*-2", "mm", F(-6)),
    ("\uff12\uff18\uff0e\uff16", "mm", F("28.6")),  # full-width figures, as some keyboards give them
]  # fmt: skip


@pytest.mark.parametrize(("text", "units", "mm"), READ)
def test_a_length_is_read_exactly(text, units, mm):
    assert parse_length(text, units) == mm


REFUSED = [
    # text, words of the message
    ("", "nothing is written"),
    ("   ", "nothing is written"),
    ("1,234.5", "more than one decimal mark"),
    ("1.234,5", "more than one decimal mark"),
    ("1,234,567", "more than one decimal mark"),
    ("1.2.3", "more than one decimal mark"),
    ("1 234", "two numbers stand side by side"),
    ("1 234,5", "two numbers stand side by side"),
    ("1'234", "less than 12"),
    ("1_000", "“_000”"),
    ("1e3", "“e3”"),
    ("1 1/8 1/16", "side by side"),
    ("1.5 1/8", "side by side"),
    ("½½", "side by side"),
    ('1"1/8', "side by side"),
    ("2 ft 3 mm", "only inches"),
    ("1 9/8", "less than one"),
    ("40-10/4", "less than one"),
    ("6/3/4", "two slashes"),
    ("1/0", "divides by nought"),
    ("5/(2-2)", "divides by nought"),
    ('3 / 16"', "written without spaces"),
    ('2" * 3"', "only one may have a unit"),
    ('1 - 1/8"', "no unit"),
    ('40 + 1/8"', "no unit"),
    ("1 cm + 5", "no unit"),
    ("1 in + 1 cm + 5", "no unit"),
    ("12 furlongs", "mm, cm, m, in, ft"),
    ("2100 F", "mm, cm, m, in, ft"),
    ("28.6 mm mm", "a unit already"),
    ("(3 mm) mm", "a unit already"),
    ("mm", "a number should stand here"),
    ("*3", "a number should stand here"),
    ("nan", "a number should stand here"),
    ("inf", "a number should stand here"),
    ("5 +", "too early"),
    ("(", "too early"),
    ("(5", 'add ")"'),
    ("(5 6)", "side by side"),
    ("5)", "never opened"),
    ("5--2", "two signs"),
    ("--5", "two signs"),
    ("40 x 2", "use *"),
    ("40 × 2", "use *"),
    (".", "means nothing"),
    ("٣", "means nothing"),  # figures of other scripts are not guessed at
    ("1³", "means nothing"),
    ("1\u200b2", "means nothing"),
    ("__import__('os')", "means nothing"),
    ("9" * 401, "longer than 400"),
    ("9" * 400, "too large"),
    ("(" * 30 + "1" + ")" * 30, "more than 20 brackets"),
]


@pytest.mark.parametrize(("text", "words"), REFUSED)
def test_what_cannot_be_read_is_refused_in_words(text, words):
    with pytest.raises(SizeError) as caught:
        parse_length(text, "mm")
    message = str(caught.value)
    assert words in message
    assert '28.6 mm or 1 1/8"' in message
    assert "\n" not in message
    assert len(message) < 300
    assert isinstance(caught.value, UsageError)


def test_the_message_says_where_it_fails():
    with pytest.raises(SizeError, match="“12 foo” cannot be read from “foo” on"):
        parse_length("12 foo", "mm")


NUMBERS = [
    ("45", "deg", F(45)),
    ("22 1/2", "deg", F(45, 2)),
    ("22,5°", "deg", F(45, 2)),
    ("45 degrees", "deg", F(45)),
    ("12,5 %", "%", F(25, 2)),
    ("30 percent", "%", F(30)),
    ("4", "", F(4)),
    ("2*3", "", F(6)),
    ("1/3", "", F(1, 3)),
    ("1150", "degC", F(1150)),
    ("1150 C", "degC", F(1150)),
    ("1150 °C", "degC", F(1150)),
    ("1150° C", "degC", F(1150)),
    ("1100 C + 50", "degC", F(1150)),
    # Freezing and boiling water, and where both scales meet: fixed points of the two scales.
    ("32 F", "degC", F(0)),
    ("212 °F", "degC", F(100)),
    ("-40 F", "degC", F(-40)),
    ("2100 F", "degC", F(10340, 9)),
    ("12 kN", "kN", F(12)),
]


@pytest.mark.parametrize(("text", "unit", "value"), NUMBERS)
def test_a_number_is_read_exactly(text, unit, value):
    assert parse_number(text, unit) == value


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("12 mm", "", "no unit here"),
        ("12 mm", "deg", "the units here are deg"),
        ("2100 F + 50", "degC", "stand alone"),
        ("2 * 2100 F", "degC", "stand alone"),
        ("2100 K", "degC", "the units here are C, F"),
        ("2'3", "", "no unit here"),
        ("45 deg", "%", "the units here are %"),
    ],
)
def test_a_number_with_a_foreign_unit_is_refused(text, unit, words):
    with pytest.raises(SizeError, match=words):
        parse_number(text, unit)


def test_lengths_for_the_eye():
    assert format_length(28.575, "mm") == "28.575 mm"
    assert format_length(40.0, "mm") == "40 mm"
    assert format_length(0.1 + 0.2, "mm") == "0.3 mm"
    assert format_length(-0.0001, "mm") == "0 mm"
    assert format_length(-2.5, "mm", with_unit=False) == "-2.5"
    assert format_length(1200.0, "mm") == "1200 mm"
    assert format_length(28.575, "in") == '1 1/8"'
    assert format_length(-28.575, "in") == '-1 1/8"'
    assert format_length(25.4, "in", with_unit=False) == "1"
    assert format_length(0.0, "in") == '0"'


def test_rounded_inches_say_so():
    assert format_length(40.0, "in") == '~1 9/16"'  # 1.5748 in, 0.31 mm off
    assert format_length(40.0, "in", denominator=64) == '~1 37/64"'  # 0.08 mm off
    assert format_length(28.6, "in") == '1 1/8"'  # 0.025 mm off: nobody forges that
    assert format_length(-40.0, "in") == '~-1 9/16"'


def test_thin_stock_is_written_in_decimals_of_an_inch():
    assert format_length(0.1, "in") == '0.0039"'
    assert format_length(1.0, "in") == '0.039"'
    assert format_length(-1.0, "in") == '-0.039"'
    assert format_length(1.5875, "in") == '1/16"'


def test_an_inch_cannot_be_parted_in_none():
    with pytest.raises(UsageError, match="ask for 16, 32 or 64"):
        format_length(1.0, "in", denominator=0)


def test_both_units_side_by_side():
    assert both(28.575) == '28.575 mm (1 1/8")'


def test_an_editor_is_filled_with_plain_text():
    assert format_exact(28.575, "mm") == "28.575"
    assert format_exact(40.0, "mm") == "40"
    assert format_exact(28.575, "in") == "1 1/8"
    assert format_exact(float(INCH * 3 / 64), "in") == "3/64"
    assert format_exact(-28.575, "in") == "-1 1/8"
    assert format_exact(1e-7, "mm") == "0.0000001"
    assert format_exact(1e22, "mm") == "1" + 22 * "0"
    assert format_exact_number(22.5) == "22.5"


def test_numbers_for_the_eye():
    assert format_number(45.0) == "45"
    assert format_number(1 / 3) == "0.333"


anything = st.floats(allow_nan=False, allow_infinity=False)
of_the_shop = st.floats(min_value=-5000, max_value=5000)


@given(anything | of_the_shop, st.sampled_from(["mm", "in"]))
def test_exact_text_reads_back_as_the_very_same_float(mm, units):
    assert float(parse_length(format_exact(mm, units), units)) == mm


@given(of_the_shop.map(lambda mm: round(mm, 2)))
def test_plain_mm_for_the_eye_reads_back_too(mm):
    assert float(parse_length(format_length(mm, "mm"), "in")) == mm


@given(st.integers(min_value=0, max_value=64 * 100))
def test_sixty_fourths_are_written_as_fractions_and_read_back(parts):
    mm = float(INCH * parts / 64)
    text = format_exact(mm, "in")
    assert "." not in text
    assert float(parse_length(text + '"', "mm")) == mm


@given(of_the_shop, st.sampled_from([8, 16, 32, 64]))
def test_a_rounded_inch_is_as_near_as_it_says(mm, denominator):
    text = format_length(mm, "in", denominator=denominator)
    off = abs(float(parse_length(text.removeprefix("~"), "mm")) - mm)
    assert off <= 25.4 / denominator / 2 + 1e-9
    assert off <= 0.05 + 1e-9 or text.startswith("~")
    assert off <= 0.1 * abs(mm) + 0.0005 * 25.4


@given(st.text(alphabet="0123456789.,/ -+*()'\"½minftcmx°%eE_", max_size=30) | st.text(max_size=30))
def test_any_text_is_read_or_refused_in_words(text):
    for units in ("mm", "in"):
        try:
            value = float(parse_length(text, units))
        except SizeError as error:
            assert "cannot be read" in str(error)  # noqa: PT017 - either way is right
        else:
            assert math.isfinite(value)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        # 25.4 mm to the inch: 50.8 is 2, 3.175 is 1/8, 101.6 is 4.
        ("a radius of 50.8 mm is less", 'a radius of 2" is less'),
        ("the piece is 101.6 x 50.8 x 25.4 mm", 'the piece is 4" x 2" x 1"'),
        ("would go from 50.8 to 25.4 mm", 'would go from 2" to 1"'),
        ("2 heats at 1150 degC, 45° and 12 %", "2 heats at 1150 degC, 45° and 12 %"),
        ("3 saw cuts of 3.175 mm and 2 pieces", '3 saw cuts of 1/8" and 2 pieces'),
        ("its mmm is 3", "its mmm is 3"),
    ],
)
def test_a_sentence_is_told_in_the_unit_of_its_reader(text, inches):
    assert told_in(text, "mm") == text
    assert told_in(text, "in") == inches
