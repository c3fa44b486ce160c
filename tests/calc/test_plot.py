"""Bar plots: the lengths are the values, nothing overlaps, nothing is told by colour alone."""

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.drawing import Pair, plot_pairs
from calc.drawing.lettering import ASCENT, DESCENT, text_width

SVG = "{http://www.w3.org/2000/svg}"
TWO = [Pair("cut", 60.0, 75.0, "1 h 00 min", "1 h 15 min"), Pair("weld", 30.0, 0.0, "30 min", "0 min")]


def tree_of(drawn: str) -> ElementTree.Element:
    return ElementTree.fromstring(drawn)  # noqa: S314 - our own


def boxes_of(drawn: str) -> list[tuple[float, float, float, float]]:
    """Every line of lettering: left, top, right, bottom."""
    found = []
    for text in tree_of(drawn).iter(f"{SVG}text"):
        x, y, size = (float(text.attrib[name]) for name in ("x", "y", "font-size"))
        found.append((x, y - ASCENT * size, x + text_width(text.text or "", size), y + DESCENT * size))
    return found


def bars_of(drawn: str) -> list[float]:
    """The lengths of the bars, the two of the key left out."""
    lengths = []
    for path in tree_of(drawn).iter(f"{SVG}path"):
        if "bar" in path.attrib["class"].split():
            xs = [float(number) for number in re.findall(r"[ML]([-\d.]+) ", path.attrib["d"])]
            lengths.append(max(xs) - min(xs))
    return lengths[2:]


def assert_apart(drawn: str) -> None:
    for one, other in combinations(boxes_of(drawn), 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        assert across <= 0.01 or down <= 0.01, (one, other)
    _, _, width, height = map(float, tree_of(drawn).attrib["viewBox"].split())
    for left, top, right, bottom in boxes_of(drawn):
        assert left >= 0
        assert top >= 0
        assert right <= width + 0.01
        assert bottom <= height


def test_bars_are_as_long_as_their_values() -> None:
    expected_cut, actual_cut, expected_weld = bars_of(plot_pairs(TWO, title="Hours"))  # nothing has no bar
    assert actual_cut / expected_cut == pytest.approx(75 / 60, rel=1e-3)
    assert expected_weld / expected_cut == pytest.approx(30 / 60, rel=1e-3)


def test_actual_is_hatched_and_figures_stand_at_the_bars() -> None:
    drawn = plot_pairs(TWO, title="Hours")
    # One hatch for the key and one for each actual bar that is longer than nothing.
    assert drawn.count('class="hatch"') == 2
    assert 'fill="#' not in drawn
    words = [text.text for text in tree_of(drawn).iter(f"{SVG}text")]
    assert words == ["expected", "actual", "cut", "1 h 00 min", "1 h 15 min", "weld", "30 min", "0 min"]
    assert "<title>Hours</title>" in drawn


def test_the_hatch_stays_in_its_bar() -> None:
    root = tree_of(plot_pairs([Pair("a", 0.0, 7.0, "0", "7")], title="t"))
    paths = [path.attrib for path in root.iter(f"{SVG}path")]
    hatch = [path["d"] for path in paths if path["class"] == "hatch"][-1]
    bar = [path["d"] for path in paths if "bar" in path["class"].split()][-1]
    corners = [tuple(map(float, at)) for at in re.findall(r"([-\d.]+) ([-\d.]+)", bar)]
    (left, right), (top, bottom) = ((min(axis), max(axis)) for axis in zip(*corners, strict=True))
    for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", hatch):
        assert left - 0.01 <= float(x) <= right + 0.01
        assert top - 0.01 <= float(y) <= bottom + 0.01


@pytest.mark.parametrize("count", [1, 2, 30])
def test_labels_keep_apart_for_any_number_of_rows(count: int) -> None:
    pairs = [Pair(f"kind of work {i}", 10.0 * i, 300.0 / (i + 1), f"{10 * i} min", "5 h 00 min") for i in range(count)]
    assert_apart(plot_pairs(pairs, title="Hours"))


def test_zeroes_only() -> None:
    drawn = plot_pairs([Pair("cut", 0.0, 0.0, "0", "0"), Pair("weld", 0.0, None, "0", "–")], title="Nothing")
    assert bars_of(drawn) == []
    assert_apart(drawn)


def test_a_value_that_is_small_beside_the_others_can_still_be_seen() -> None:
    lengths = bars_of(plot_pairs([Pair("a", 1e6, 1.0, "1000000", "1")], title="t"))
    assert min(lengths) >= 1.5


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.builds(
            Pair,
            st.text(max_size=60),
            st.none() | st.floats(0, 1e9),
            st.none() | st.floats(0, 1e9),
            st.text(max_size=16),
            st.text(max_size=16),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_whatever_is_written_keeps_apart_and_stays_words(pairs: list[Pair]) -> None:
    assert_apart(plot_pairs(pairs, title="<b>&"))


@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_what_has_no_bar_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="0 or longer"):
        plot_pairs([Pair("a", value, 1.0, "", "")], title="t")


def test_no_rows_are_refused() -> None:
    with pytest.raises(ValueError, match="needs a row"):
        plot_pairs([], title="t")


def test_a_long_name_takes_two_lines_and_loses_nothing() -> None:
    name = "Sheets bought for other jobs"
    root = tree_of(plot_pairs([Pair(name, 2.0, 1.0, "2", "1"), Pair("Cut", 1.0, 1.0, "1", "1")], title="Metal"))
    words = [text.text or "" for text in root.iter() if text.tag.endswith("text")]
    lines = [text for text in words if text and text in name]
    assert " ".join(lines) == name
    assert len(lines) == 2
    assert_apart(plot_pairs([Pair(name, 2.0, 1.0, "2", "1"), Pair(name, 1.0, 1.0, "1", "1")], title="Metal"))
