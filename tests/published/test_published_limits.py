"""Every limit value of CISPR 32 class A and B that the data hold: at, below and above each edge."""

import math

import numpy as np
import pytest

from linkbudget.emissions.limits import all_lines, highest_measured_frequency, line, lines

MAIL = "emc-pstc mail archive, message 64453, quoting CISPR 32:2012"
REPORT = "laboratory report ACWE-F2101012 in a product manual, page of limits"
HANDBOOK = "Power Electronics Handbook, p. 123, EN 55022 tables 4.4 and 4.5"
RECALLED = "CISPR 32:2015, recalled by people of the trade"
NO_LIMIT = math.nan
JUST = 1e-9  # relative

# line, source, where, from memory, then edges: frequency, limit below, at and above it.
# An edge of the range has no limit on its far side; at a step the lower one applies.
PRINTED = [
    (
        "cispr32-b-radiated-3m-quasi-peak",
        (MAIL, "table A.4", False),
        [(30e6, NO_LIMIT, 40, 40), (230e6, 40, 40, 47), (1e9, 47, 47, NO_LIMIT)],
    ),
    (
        "cispr32-b-radiated-10m-quasi-peak",
        (MAIL, "table A.4", False),
        [(30e6, NO_LIMIT, 30, 30), (230e6, 30, 30, 37), (1e9, 37, 37, NO_LIMIT)],
    ),
    (
        "cispr32-a-radiated-3m-quasi-peak",
        (REPORT, "class A, 3 m", False),
        [(30e6, NO_LIMIT, 50, 50), (230e6, 50, 50, 57), (1e9, 57, 57, NO_LIMIT)],
    ),
    (
        "cispr32-a-radiated-10m-quasi-peak",
        (REPORT, "class A, 10 m", False),
        [(30e6, NO_LIMIT, 40, 40), (230e6, 40, 40, 47), (1e9, 47, 47, NO_LIMIT)],
    ),
    (
        "cispr32-b-radiated-3m-peak",
        (MAIL, "table A.5", False),
        [(1e9, NO_LIMIT, 70, 70), (3e9, 70, 70, 74), (6e9, 74, 74, NO_LIMIT)],
    ),
    (
        "cispr32-b-radiated-3m-average",
        (MAIL, "table A.5", False),
        [(1e9, NO_LIMIT, 50, 50), (3e9, 50, 50, 54), (6e9, 54, 54, NO_LIMIT)],
    ),
    (
        "cispr32-a-radiated-3m-peak",
        (RECALLED, "table A.3", True),
        [(1e9, NO_LIMIT, 76, 76), (3e9, 76, 76, 80), (6e9, 80, 80, NO_LIMIT)],
    ),
    (
        "cispr32-a-radiated-3m-average",
        (RECALLED, "table A.3", True),
        [(1e9, NO_LIMIT, 56, 56), (3e9, 56, 56, 60), (6e9, 60, 60, NO_LIMIT)],
    ),
    (
        "cispr32-a-mains-quasi-peak",
        (HANDBOOK, "class A", False),
        [(150e3, NO_LIMIT, 79, 79), (500e3, 79, 73, 73), (30e6, 73, 73, NO_LIMIT)],
    ),
    (
        "cispr32-a-mains-average",
        (HANDBOOK, "class A", False),
        [(150e3, NO_LIMIT, 66, 66), (500e3, 66, 60, 60), (30e6, 60, 60, NO_LIMIT)],
    ),
    (
        "cispr32-b-mains-quasi-peak",
        (HANDBOOK, "class B", False),
        [
            (150e3, NO_LIMIT, 66, 66),
            (500e3, 56, 56, 56),
            (5e6, 56, 56, 60),
            (30e6, 60, 60, NO_LIMIT),
        ],
    ),
    (
        "cispr32-b-mains-average",
        (HANDBOOK, "class B", False),
        [
            (150e3, NO_LIMIT, 56, 56),
            (500e3, 46, 46, 46),
            (5e6, 46, 46, 50),
            (30e6, 50, 50, NO_LIMIT),
        ],
    ),
]

CASES = [
    pytest.param(
        line_id,
        edge,
        marks=pytest.mark.published(source=source, where=where, from_memory=from_memory),
        id=f"{line_id} {edge[0]:g} Hz",
    )
    for line_id, (source, where, from_memory), edges in PRINTED
    for edge in edges
]


@pytest.mark.parametrize(("line_id", "edge"), CASES)
def test_limit_below_at_and_above_an_edge(line_id, edge):
    frequency, below, at, above = edge
    around = np.array([frequency * (1 - JUST), frequency, frequency * (1 + JUST)])
    found = line(line_id).level_at(around)
    assert found == pytest.approx([below, at, above], abs=1e-6, rel=0, nan_ok=True)


def test_no_line_is_left_out():
    assert {one.line_id for one in all_lines()} == {line_id for line_id, *_ in PRINTED}


@pytest.mark.published(source=HANDBOOK, where="class B, decreasing with the logarithm of frequency")
@pytest.mark.parametrize(
    ("line_id", "middle"), [("cispr32-b-mains-quasi-peak", 61.0), ("cispr32-b-mains-average", 51.0)]
)
def test_slope_is_halfway_at_the_geometric_mean(line_id, middle):
    found = line(line_id).level_at(np.array([math.sqrt(0.15e6 * 0.5e6)]))
    assert found == pytest.approx([middle], abs=1e-9)


@pytest.mark.published(
    source="CISPR 16-1-1, bandwidths by band", where="bands B, C, D, E", from_memory=True
)
@pytest.mark.parametrize("equipment_class", ["A", "B"])
def test_bandwidth_and_unit_follow_from_the_band(equipment_class):
    for one in lines("CISPR 32", equipment_class):
        bandwidth, unit = {
            150e3: (9e3, "dBuV"),
            30e6: (120e3, "dBuV/m"),
            1e9: (1e6, "dBuV/m"),
        }[one.low_hz]
        assert (one.bandwidth_hz, one.unit) == (bandwidth, unit)


@pytest.mark.published(source=RECALLED, where="table 1", from_memory=True)
@pytest.mark.parametrize(
    ("internal_hz", "measured_hz"),
    [
        (1e6, 1e9),
        (108e6, 1e9),
        (108e6 * (1 + JUST), 2e9),
        (500e6, 2e9),
        (500e6 * (1 + JUST), 5e9),
        (1e9, 5e9),
        (1.1e9, 5.5e9),
        (1.2e9, 6e9),
        (2.44e9, 6e9),
        (None, 6e9),
    ],
)
def test_highest_measured_frequency(internal_hz, measured_hz):
    assert highest_measured_frequency(internal_hz).value == pytest.approx(measured_hz)
