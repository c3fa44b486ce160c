"""What people type as a length, and what they are shown. The inch is 25.4 mm exactly (agreement of 1959)."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.units import Display, LengthError, parse_length, round_half_away

F = Fraction

# Beside each, the arithmetic that gives it: 36 1/2 in x 25.4 = 927.1 mm, and so on.
READS = [
    ("36 1/2 in", F("927.1")),
    ('36-1/2"', F("927.1")),
    ("3'-0 1/2\"", F("927.1")),
    ("3' 1/2\"", F("927.1")),
    ("3 ft 0 1/2 in", F("927.1")),
    ("3' - 0 1/2\"", F("927.1")),
    ("3'0.5\"", F("927.1")),
    ("3 feet 0 1/2 inches", F("927.1")),
    ("36 1/2 in.", F("927.1")),
    ("36½ in", F("927.1")),
    ("36-½″", F("927.1")),
    ("3′-0½″", F("927.1")),
    ("3’ 0 1⁄2”", F("927.1")),
    ("3'-0 1/2''", F("927.1")),
    ("  36\u00a01/2\u2009IN ", F("927.1")),
    ("36.5 in", F("927.1")),
    ("927mm", F(927)),
    ("927.0 mm", F(927)),
    ("92.7 cm", F(927)),
    ("0.927 m", F(927)),
    ("+927 mm", F(927)),
    ("1,5 mm", F(3, 2)),
    ("0,125 in", F("3.175")),
    ("1234,567 mm", F("1234.567")),  # four digits before the comma: no thousands mark stands there
    ("1.125 in", F("28.575")),
    (".5 in", F("12.7")),
    ("1/2 in", F("12.7")),
    ("¼ in", F("6.35")),
    ("⅛ in", F("3.175")),
    ("1/64 in", F("0.396875")),
    ("5/4 in", F("31.75")),
    ('1.5"', F("38.1")),
    ("3 ft", F("914.4")),
    ("3 1/2 ft", F("1066.8")),
    ("3' 11 15/16\"", (36 + 11 + F(15, 16)) * F("25.4")),
    ("1/3 mm", F(1, 3)),
    ("-6 mm", F(-6)),
    ("−6 mm", F(-6)),
    ("- 1/2 in", F("-12.7")),
    ("-½ in", F("-12.7")),
    ("-3'-0 1/2\"", F("-927.1")),
    ("-0 mm", F(0)),
]


@pytest.mark.parametrize(("text", "mm"), READS)
def test_reads(text, mm):
    assert parse_length(text) == mm


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("927", "mm", F(927)),
        ("36 1/2", "in", F("927.1")),
        ("-6", "mm", F(-6)),
        ("3' 0 1/2", "in", F("927.1")),
        ("36 1/2 in", "mm", F("927.1")),
        ("927 mm", "in", F(927)),
    ],
)
def test_a_bare_number_is_in_the_shops_unit_and_a_typed_unit_wins(text, unit, mm):
    assert parse_length(text, bare_unit=unit) == mm


REFUSED = [
    ("", "no length"),
    (" \t\n", "no length"),
    ("abc", "no number"),
    ("mm", "no number"),
    ('"', "no number"),
    ("-", "no number"),
    ("nan mm", "no number"),
    ("inf mm", "no number"),
    ("-Infinity", "no number"),
    ("927", "no unit"),
    ("36 1/2", "no unit"),
    ("3' 6", "no unit after 6"),
    ("927 furlongs", "furlongs is not a unit"),
    ("927 mm2", "more than one length|no unit"),
    ("10 x 20 mm", "x is not a unit"),
    ("mm 927", "no number before mm"),
    ("1,500 mm", "thousands or decimals: write 1500 or 1.500"),
    ("12,345 in", "thousands or decimals"),
    ("1.500,5 mm", "more than one point or comma"),
    ("1,500.5 mm", "more than one point or comma"),
    ("1,234,567 mm", "more than one point or comma"),
    ("1..5 mm", "more than one point or comma"),
    ("1 500 mm", "one number or two: write 1500"),
    ("1\u202f500 mm", "one number or two"),
    ("3 ft 5 mm", "don't go together"),
    ("1'500 mm", "don't go together"),
    ("3 m 5 cm", "don't go together"),
    ("6 in 3 ft", "don't go together"),
    ("3 in 1/2 in", "don't go together"),
    ("1 ft 2 in 3 mm", "more than one length"),
    ("1/0 in", "0 under the line"),
    ("36 1/0 in", "0 under the line"),
    ("3 5/4 in", "5/4 after 3 is not less than one"),
    ("3 4/4 in", "4/4 after 3 is not less than one"),
    ("361/2 in", "may be 180 1/2, or 36 1/2 with its space lost"),
    ("11/8 in", "may be 1 3/8, or 1 1/8 with its space lost"),
    ("3'61/2\"", "space lost"),
    ("1.5/2 in", "whole number over a whole number"),
    ("1/2/3 in", "whole number over a whole number"),
    ("½½ in", "whole number over a whole number"),
    ("½4 in", "whole number over a whole number"),
    ("36 - 1/2 in", "a sum or a mixed number"),
    ("36 -1/2 in", "a sum or a mixed number"),
    ("20-30 mm", "a sum or a mixed number"),
    ("3' 14\"", "12 inches or more"),
    ("3' 12\"", "12 inches or more"),
    ("3.5 ft 2 in", "whole number, not 3.5"),
    ("5. mm", "5. is not a number"),
    ("+-5 mm", "-5 is not a number"),
    ("--5 mm", "-5 is not a number"),
    ("1e3 mm", "power of ten"),
    ("1.5E-3 m", "power of ten"),
    ("0x10 mm", "only the digits 0 to 9"),
    ("1_000 mm", "only the digits 0 to 9"),
    ("٣ mm", "not one of the digits 0 to 9"),
    ("５ mm", "not one of the digits 0 to 9"),
    ("5 m²", "not one of the digits 0 to 9"),
    ("5\u200bmm", "no meaning"),
    ("5\x00mm", "no meaning"),
    ("5 µm", "no meaning"),
    ("9" * 61 + " mm", "too long"),
    ("5 mm" + "!" * 10_000, "too long"),
]


@pytest.mark.parametrize(("text", "wrong"), REFUSED)
def test_refuses_in_a_sentence_that_says_what_was_typed_and_what_would_do(text, wrong):
    with pytest.raises(LengthError, match=wrong) as refused:
        parse_length(text)
    sentence = str(refused.value)
    assert ": " in sentence
    shown = sentence.rsplit("(got ", 1)[1].removesuffix(")")
    assert shown[:1] == (text.strip()[:1] or "n")
    assert sentence.isprintable()
    assert len(sentence) < 250


@given(st.text(max_size=80))
def test_any_text_is_a_length_or_a_length_error(text):
    try:
        answer = parse_length(text, bare_unit="mm")
    except LengthError as error:
        answer = error
    assert isinstance(answer, Fraction) or str(answer).isprintable()


@given(st.text(alphabet="0123456789 ./,-'\"½infcmt", max_size=16))
def test_near_misses_are_a_length_or_a_length_error(text):
    try:
        size = parse_length(text)
    except LengthError:
        return
    assert any(c.isdigit() or c == "½" for c in text)
    assert (size < 0) <= text.strip().startswith("-")


whole_inches = st.integers(0, 800)
proper = st.sampled_from([F(n, 2**k) for k in range(1, 7) for n in range(1, 2**k, 2)])


@given(whole_inches, proper, st.booleans())
def test_mixed_inches_are_exact_and_agree_with_feet_and_inches(whole, part, minus):
    sign = "-" if minus else ""
    mm = (whole + part) * F(254, 10) * (-1 if minus else 1)
    feet, inches = divmod(whole, 12)
    assert parse_length(f'{sign}{whole} {part}"') == mm
    assert parse_length(f"{sign}{whole}-{part} in") == mm
    assert parse_length(f"{sign}{feet}'-{inches} {part}\"") == mm


@given(st.integers(-20_000_0000000, 20_000_0000000))
def test_decimals_are_exact_with_a_point_or_a_comma(count):
    text = f"{'-' if count < 0 else ''}{abs(count) // 10**7}.{abs(count) % 10**7:07}"
    assert parse_length(text + " mm") == F(count, 10**7)
    assert parse_length(text.replace(".", ",") + " cm") == F(count, 10**6)


RULES = [
    Display(),
    Display("mm", F(1)),
    Display("mm", F(1, 10)),
    Display("mm", F(1, 4)),
    Display("in"),
    Display("in", F(1, 32)),
    Display("in", F(1, 64)),
    Display("in", F(1, 1000)),
]


@pytest.mark.parametrize("display", RULES, ids=str)
@given(mm=st.floats(-20_000, 20_000))
def test_shown_at_the_rule_and_typed_back_is_the_rounded_length(display, mm):
    back = parse_length(display.length(mm))
    assert back == display.rounded(mm)
    step = float(display.rule) * (25.4 if display.unit == "in" else 1)
    assert abs(float(back) - mm) <= step / 2 + 1e-6
    assert parse_length(display.figure(mm), bare_unit=display.unit) == back
    assert (display.figure(mm)[0] == "-") == (back < 0)


@pytest.mark.parametrize("display", RULES, ids=str)
@given(mm=st.floats(-20_000, 20_000))
def test_an_exact_figure_typed_back_is_the_same_length(display, mm):
    assert abs(float(parse_length(display.exact(mm), bare_unit=display.unit)) - mm) <= 1e-7


@given(whole_inches, proper)
def test_a_fraction_of_an_inch_typed_back_is_exactly_the_same(whole, part):
    mm = (whole + part) * F(254, 10)
    assert parse_length(Display("in").exact(mm), bare_unit="in") == mm
    assert parse_length(Display("in").exact(float(mm)), bare_unit="in") == mm
    assert parse_length(Display().exact(mm), bare_unit="mm") == mm


@pytest.mark.parametrize(
    ("display", "mm", "shown"),
    [
        (Display(), 927.5, "927.5 mm"),
        (Display(), 927, "927 mm"),
        (Display(), 927.25, "927.5 mm"),  # halves go away from zero
        (Display(), -927.25, "-927.5 mm"),
        (Display(), 927.2499999999, "927.5 mm"),  # a computed 927.25
        (Display(), -0.2, "0 mm"),
        (Display(), 100, "100 mm"),
        (Display("mm", F(1)), 0.5, "1 mm"),
        (Display("mm", F(1)), -1.5, "-2 mm"),
        (Display("mm", F(1, 10)), 0.15, "0.2 mm"),
        (Display("mm", F(1, 10)), 20_000.04, "20000 mm"),
        (Display("in"), 927.1, "36 1/2 in"),
        (Display("in"), 914.4, "36 in"),
        (Display("in"), 12.7, "1/2 in"),
        (Display("in"), -12.7, "-1/2 in"),
        (Display("in"), 0, "0 in"),
        (Display("in"), -0.5, "0 in"),
        (Display("in", F(1, 64)), 0.396875, "1/64 in"),
        (Display("in"), 0.79375, "1/16 in"),  # 1/32 in, halfway on a rule of sixteenths
        (Display("in", F(1, 1000)), 927.1, "36.5 in"),
        (Display("in", F(1, 1000)), 3.175, "0.125 in"),
    ],
)
def test_lengths_as_shown(display, mm, shown):
    assert display.length(mm) == shown
    assert display.figure(mm) == shown.rsplit(" ", 1)[0]


@pytest.mark.parametrize(
    ("display", "mm", "figure"),
    [
        (Display(), 0.396875, "0.396875"),
        (Display(), F(16, 3), "5 1/3"),
        (Display(), 100, "100"),
        (Display(), -0.0, "0"),
        (Display("in"), 0.396875, "1/64"),
        (Display("in"), -927.1, "-36 1/2"),
        (Display("in"), 1, "0.039370079"),  # 1/25.4
    ],
)
def test_exact_figures(display, mm, figure):
    assert display.exact(mm) == figure


@pytest.mark.parametrize(
    ("display", "mm2", "shown"),
    [
        (Display(), 1_250 * 2_500, "3.125 m²"),
        (Display(), 500, "0.001 m²"),
        (Display(), 499, "under 0.001 m²"),
        (Display(), 0, "0.000 m²"),
        (Display("in"), (48 * 25.4) * (96 * 25.4), "32.00 ft²"),  # a 4 x 8 ft sheet
        (Display("in"), 100, "under 0.01 ft²"),
    ],
)
def test_areas_as_shown(display, mm2, shown):
    assert display.area(mm2) == shown


@pytest.mark.parametrize(
    ("unit", "rule", "wrong"),
    [("cm", F(1), "mm or in"), ("mm", F(-1), "above 0"), ("mm", F(1, 3), "end in decimals")],
)
def test_a_display_nobody_could_read_is_refused(unit, rule, wrong):
    with pytest.raises(ValueError, match=wrong):
        Display(unit, rule)


@given(st.fractions(-1000, 1000, max_denominator=16))
def test_rounding_is_to_the_nearest_and_the_same_either_side_of_zero(value):
    assert abs(round_half_away(value) - value) <= F(1, 2)
    assert round_half_away(-value) == -round_half_away(value)


@pytest.mark.parametrize("typed", ["36 1/2", "2 3/8", "1/64", "36½"])
def test_a_bare_fraction_in_a_metric_shop_is_asked_about(typed: str) -> None:
    with pytest.raises(LengthError, match="reads like an inch tape"):
        parse_length(typed, bare_unit="mm")
    assert parse_length(f"{typed} mm") < parse_length(f"{typed} in") == parse_length(typed, bare_unit="in")
