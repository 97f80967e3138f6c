import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.emissions.coverage import covered_ranges, in_words, merged, overlap, without

BANDWIDTH = 120e3


def _gaps(f, low=30e6, high=1e9, bandwidth=BANDWIDTH):
    """Gaps of a sweep that kept the highest level of each step."""
    covered = covered_ranges(np.asarray(f, dtype=float), bandwidth, swept=True)
    return without([(low, high)], covered)


@pytest.mark.parametrize(
    "sweep",
    [
        np.linspace(30e6, 1e9, 20_001),
        np.geomspace(30e6, 1e9, 601),
        np.linspace(30.4e6, 999.6e6, 1001),  # ends half a step inside the range
        np.concatenate([np.arange(30e6, 300e6, 10e3), np.arange(300e6, 1000.1e6, 100e3)]),
        np.concatenate([np.arange(30e6, 300e6, 200e3), np.arange(300e6, 1000.1e6, 2e3)]),
    ],
    ids=["linear", "logarithmic", "inset", "coarser above", "finer above"],
)
def test_a_whole_sweep_has_no_gap(sweep):
    assert _gaps(sweep) == ()


def test_a_hole_in_a_sweep_is_found_to_within_a_step():
    f = np.linspace(30e6, 1e9, 10_001)
    ((low, high),) = _gaps(f[(f < 200e6) | (f > 250e6)])
    assert low == pytest.approx(200e6, abs=2e5)
    assert high == pytest.approx(250e6, abs=2e5)


def test_a_hole_in_a_logarithmic_sweep_is_found():
    f = np.geomspace(30e6, 1e9, 601)
    ((low, high),) = _gaps(f[(f < 200e6) | (f > 250e6)])
    assert low == pytest.approx(200e6, rel=0.02)
    assert high == pytest.approx(250e6, rel=0.02)


def test_lone_points_in_a_hole_do_not_hide_it():
    f = np.linspace(30e6, 1e9, 10_001)
    kept = (f < 200e6) | (f > 250e6) | (np.abs(f - 220e6) < 5e4) | (np.abs(f - 230e6) < 5e4)
    assert len(_gaps(f[kept])) == 3


def test_a_hole_smaller_than_the_bandwidth_hides_nothing():
    f = np.arange(30e6, 1e9 + 1, 10e3)
    kept = (f < 200e6) | (f > 200.1e6)
    assert _gaps(f[kept]) == ()
    assert without([(30e6, 1e9)], covered_ranges(f[kept], BANDWIDTH)) == ()
    assert len(_gaps(f[kept], bandwidth=9e3)) == 1


def test_missing_ends_are_gaps():
    f = np.linspace(40e6, 900e6, 10_001)
    # a sweep reaches half of its 120 kHz bandwidth beyond its ends
    assert in_words(_gaps(f)) == "30 MHz to 39.94 MHz, 900.06 MHz to 1 GHz"


def test_a_hole_beside_the_very_first_point_is_found():
    f = np.concatenate([[30e6], np.arange(100e6, 1e9 + 1, 50e3)])
    assert len(_gaps(f)) == 1


def test_a_step_beyond_the_bandwidth_covers_nothing_between_unless_swept():
    f = np.arange(30e6, 1e9 + 1, 1e6)
    lone = covered_ranges(f, BANDWIDTH)
    assert len(lone) == f.size
    assert lone[1] == pytest.approx((30.94e6, 31.06e6))
    ((low, high),) = covered_ranges(f, BANDWIDTH, swept=True)
    assert (low, high) == pytest.approx((29.5e6, 1000.5e6))


def test_one_missing_level_of_a_coarse_sweep_is_a_gap():
    f = np.linspace(30e6, 1e9, 1001)
    ((low, high),) = _gaps(np.delete(f, 300))
    assert low == pytest.approx(f[299] + 485e3)  # half of the 970 kHz step
    assert high == pytest.approx(f[301] - 485e3)


def test_nothing_before_the_first_point_is_covered():
    f = np.arange(32e6, 1e9 + 1, 2e6)
    for swept in (False, True):
        assert covered_ranges(f, BANDWIDTH, swept=swept)[0][0] >= 31e6


def test_points_far_apart_are_single_readings():
    f = np.array([48e6, 144e6, 480e6])
    assert covered_ranges(f, BANDWIDTH) == (
        (48e6 - 60e3, 48e6 + 60e3),
        (144e6 - 60e3, 144e6 + 60e3),
        (480e6 - 60e3, 480e6 + 60e3),
    )


def test_one_point_covers_its_bandwidth():
    assert covered_ranges(np.array([48e6]), BANDWIDTH) == ((48e6 - 60e3, 48e6 + 60e3),)


_RANGES = st.lists(
    st.tuples(st.integers(0, 200), st.integers(1, 30)).map(
        lambda pair: (float(pair[0]), float(pair[0] + pair[1]))
    ),
    max_size=8,
)


@given(_RANGES, _RANGES)
def test_taking_away_leaves_what_was_in_one_and_not_in_the_other(ranges, taken):
    left = without(ranges, taken)
    for x in np.arange(0.25, 235.0, 0.5):  # never on an edge
        in_ranges = any(low <= x <= high for low, high in ranges)
        in_taken = any(low <= x <= high for low, high in taken)
        assert any(low <= x <= high for low, high in left) == (in_ranges and not in_taken)


@given(_RANGES)
def test_the_edge_goes_with_what_is_taken(taken):
    for low, high in without([(0.0, 300.0)], taken):
        assert not any(a <= low <= b or a <= high <= b for a, b in taken)


@given(_RANGES)
def test_merging_twice_changes_nothing(ranges):
    assert merged(merged(ranges)) == merged(ranges)


def test_overlap_clips_to_the_window():
    assert overlap([(1.0, 5.0), (7.0, 9.0), (20.0, 30.0)], (4.0, 8.0)) == ((4.0, 5.0), (7.0, 8.0))


def test_many_ranges_are_counted():
    ranges = [(n * 1e6, n * 1e6 + 1e5) for n in range(1, 8)]
    assert in_words(ranges).endswith("4 MHz to 4.1 MHz, and 3 more")
