import numpy as np
import pytest

from linkbudget.core.errors import InputError, MissingData
from linkbudget.emissions.limits import (
    all_lines,
    families,
    highest_measured_frequency,
    line,
    lines,
    standard_of,
)


def test_every_segment_names_where_its_value_comes_from():
    for one in all_lines():
        for segment in one.segments:
            assert segment.source.document
            assert segment.source.clause
            assert not segment.source.checked


@pytest.mark.parametrize("one", all_lines(), ids=lambda one: one.line_id)
def test_segments_adjoin_and_rise(one):
    for left, right in zip(one.segments, one.segments[1:], strict=False):
        assert left.high_hz == right.low_hz
    assert all(segment.low_hz < segment.high_hz for segment in one.segments)


@pytest.mark.parametrize("equipment_class", ["A", "B"])
def test_average_line_lies_below_the_other_line_of_its_port(equipment_class):
    held = lines("CISPR 32", equipment_class)
    pairs = [
        (low, high)
        for low in held
        for high in held
        if low.detector == "average"
        and high.detector != "average"
        and (low.port, low.low_hz) == (high.port, high.low_hz)
    ]
    assert len(pairs) == 2
    for low, high in pairs:
        f = np.geomspace(low.low_hz, low.high_hz, 999)
        assert np.all(low.level_at(f) < high.level_at(f))


def test_class_a_allows_more_than_class_b():
    for b in lines("CISPR 32", "B"):
        a = line(b.line_id.replace("cispr32-b", "cispr32-a"))
        f = np.geomspace(b.low_hz, b.high_hz, 999)
        assert np.all(a.level_at(f) > b.level_at(f))


def test_level_keeps_the_order_of_its_argument():
    found = line("cispr32-b-radiated-3m-quasi-peak").level_at(np.array([500e6, 1e6, 100e6]))
    np.testing.assert_array_equal(found, [47.0, np.nan, 40.0])


def test_a_standard_without_lines_is_named_with_what_is_held():
    with pytest.raises(MissingData, match=r"CISPR 14-1 class B; expected .*CISPR 32 class B"):
        lines("CISPR 14-1", "B")


def test_an_unknown_line_is_answered_with_the_nearest():
    with pytest.raises(InputError, match='Did you mean "cispr32-b-mains-average"'):
        line("cispr32-b-mains-avg")


@pytest.mark.parametrize(
    ("family", "standard", "held"),
    [
        ("multimedia and IT equipment", "CISPR 32", True),
        ("laboratory", "IEC 61326-1", False),
        ("household", "CISPR 14-1", False),
        ("lighting", "CISPR 15", False),
        ("industrial", "CISPR 11", False),
        ("medical", "IEC 60601-1-2", False),
        ("vehicle", "CISPR 12 and CISPR 25", False),
    ],
)
def test_family_picks_the_standard(family, standard, held):
    found = standard_of(family)
    assert (found.standard, found.held) == (standard, held)


def test_a_held_family_has_lines_and_the_others_have_none():
    for family in families():
        if family.held:
            assert lines(family.standard, "B")
        else:
            with pytest.raises(MissingData):
                lines(family.standard, "B")


def test_an_unknown_family_lists_the_known_ones():
    with pytest.raises(InputError, match=r"family: found 'houshold'.*Did you mean \"household\""):
        standard_of("houshold")


def test_unknown_internal_frequency_is_an_assumption_and_says_so():
    found = highest_measured_frequency(None)
    assert found.kind == "assumed"
    assert "no highest internal frequency is stated" in found.source
    assert highest_measured_frequency(48e6).kind == "computed"


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_an_impossible_internal_frequency_is_refused(bad):
    with pytest.raises(InputError, match="a positive frequency"):
        highest_measured_frequency(bad)
