"""The room of a scenario: which law answers, what stands in the way, what was measured."""

import math

import numpy as np
import pytest
from scipy import stats

from linkbudget.core.errors import InputError
from linkbudget.report.forecast_rows import forecast_rows
from linkbudget.study import study

MIDDLE_HZ = math.sqrt(2.40e9 * 2.48e9)
SENT_DBM = 10.0 - 3.0  # 10 dBm, and half of it lost between circular and linear
FREE_DB = 20.0 * math.log10(4.0 * math.pi * 10.0 * MIDDLE_HZ / 299_792_458.0)  # at 10 m


def _received(found):
    return found.comparison.without.received


def test_open_air_is_free_space(link):
    assert _received(link()).value == pytest.approx(SENT_DBM - FREE_DB, abs=0.01)


def test_open_field_with_gains_unknown_within_6_db(link):
    """No plate, antennas at 1.5 m: the far law of two rays, 40 log10(d) - 20 log10(h1 h2)."""
    ground = (
        'kind = "over ground"\nheight = "1.5 m"\nfar_height = "1.5 m"\n'
        'ground = "medium dry ground"\npolarisation = "vertical"'
    )
    antenna = 'gain_toward = { value = "0 dBi", within = "6 dB" }\nreturn_loss = "40 dB"\n'
    antenna += 'polarisation = "circular"\ncable_loss = "0 dB"'
    goal = 'distance = "600 m"\nreliability = "90 %"\nfading = "none"'
    received = _received(link(room=ground, antenna=antenna, goal=goal))
    far_db = 40.0 * math.log10(600.0) - 20.0 * math.log10(1.5 * 1.5)
    assert received.value == pytest.approx(SENT_DBM - far_db, abs=0.5)
    # 95 % of a rectangle of 12 dB
    assert (received.low, received.high) == pytest.approx(
        (received.value - 5.7, received.value + 5.7), abs=0.1
    )


def test_the_newer_indoor_law_answers_unless_floors_are_told(link):
    office = 'kind = "indoor"\nsurroundings = "office"\n'
    # ITU-R P.1238-11: 10 * 1.46 log10(d) + 34.62 + 10 * 2.03 log10(f / GHz)
    newer_db = 14.6 + 34.62 + 20.3 * math.log10(MIDDLE_HZ / 1e9)
    assert _received(link(room=office + 'sight = "clear"')).value == pytest.approx(
        SENT_DBM - newer_db, abs=0.01
    )
    # ITU-R P.1238-10: 20 log10(f / MHz) + 30 log10(d) + 14 for one floor - 28
    older_db = 20.0 * math.log10(MIDDLE_HZ / 1e6) + 30.0 + 14.0 - 28.0
    assert _received(link(room=office + "floors = 1")).value == pytest.approx(
        SENT_DBM - older_db, abs=0.01
    )


def test_an_exponent_with_spread_turns_about_its_reference(link):
    room = 'kind = "exponent"\nexponent = { value = 3, standard_deviation = 0.2 }'
    received = _received(link(room=room))
    assert received.value == pytest.approx(SENT_DBM - FREE_DB - 10.0, abs=0.01)
    # 10 dB for each unit of the exponent at ten times the reference, 1.96 standard deviations
    assert received.high - received.value == pytest.approx(1.96 * 0.2 * 10.0, abs=0.1)


def test_walls_and_edges_stand_in_the_budget(link):
    walls = (
        'kind = "open air"\n[[room.walls]]\nloss = "5 dB"\ncount = 2\n'
        '[[room.walls]]\nmaterial = "plasterboard"\nthickness = "12.5 mm"'
    )
    found = link(room=walls)
    lines = {line.name: line.value.value for line in found.comparison.without.lines}
    assert lines["2 walls, stated loss"] == -10.0
    # a slab of 2.73 and 0.0085 f^0.9395 S/m, transfer matrix by hand
    assert lines["wall, plasterboard"] == pytest.approx(-1.09, abs=0.02)
    edge = 'kind = "open air"\n[[room.edges]]\nheight = "0 m"\nfrom_product = "3 m"'
    # an edge that grazes the line of sight takes 6.0 dB (ITU-R P.526)
    assert _received(link()).value - _received(link(room=edge)).value == pytest.approx(6.0, abs=0.1)


def test_a_law_that_does_not_hold_at_the_distance_names_the_goal(link):
    goal = 'distance = "60 m"\nreliability = "90 %"\nfading = "none"'
    room = 'kind = "indoor"\nsurroundings = "office"\nsight = "clear"'
    with pytest.raises(InputError) as caught:
        link(room=room, goal=goal)
    assert "goal.distance" in str(caught.value)


def _series(path, exponent, level_at_1_m, heading="distance (m),level (dBm)", sigma=2.0):
    rng = np.random.default_rng(7)
    distance_m = np.repeat(np.geomspace(1.0, 30.0, 12), 5)
    level = level_at_1_m - 10.0 * exponent * np.log10(distance_m) + rng.normal(0.0, sigma, 60)
    rows = [f"{d:.6g},{each:.6g}" for d, each in zip(distance_m, level, strict=True)]
    path.write_text("\n".join(["# at the fair", heading, *rows]), encoding="utf-8")
    # straight line through the same points by numpy
    slope, offset = np.polyfit(np.log10(distance_m), level, 1)
    return slope, offset


THIS = 'kind = "measured"\nlevels = "levels.csv"\nof_this_link = true'


def test_levels_of_this_very_link_are_what_it_receives(link, tmp_path):
    slope, offset = _series(tmp_path / "levels.csv", 2.7, -38.0)
    found = link(room=THIS)
    received = _received(found)
    assert received.value == pytest.approx(offset + slope, abs=0.01)  # at 10 m
    # the ends lose their doubt, so the band is that of the fitted line: a fraction of 2 dB
    assert received.high - received.low < 2.0
    assert found.room.holds_everything


def test_the_metal_of_a_measured_link_is_in_its_series_or_comes_on_top(link, tmp_path):
    slope, offset = _series(tmp_path / "levels.csv", 2.7, -38.0)
    metal = '[metal]\nkind = "attenuation"\nattenuation = "6 dB"\nspread = "3 dB"'
    within = link(metal, room=THIS).comparison
    assert within.with_metal.received.value == pytest.approx(offset + slope, abs=0.01)
    assert within.without.received.value == pytest.approx(offset + slope + 6.0, abs=0.01)
    on_top = link(metal, room=f"{THIS}\nwith_metal = false").comparison
    assert on_top.without.received.value == pytest.approx(offset + slope, abs=0.01)
    assert on_top.with_metal.received.value == pytest.approx(offset + slope - 6.0, abs=0.01)
    assert on_top.with_metal.received.high - on_top.with_metal.received.low > 5.0


def test_levels_of_another_transmitter_give_a_loss(link, tmp_path):
    slope, offset = _series(tmp_path / "levels.csv", 2.2, -25.0)
    other = 'kind = "measured"\nlevels = "levels.csv"\nof_this_link = false\n'
    exact = _received(link(room=f'{other}radiated_power = "14 dBm"\nfar_gain = "2 dBi"'))
    assert exact.value == pytest.approx(SENT_DBM - (14.0 + 2.0 - offset - slope), abs=0.01)
    loose = _received(
        link(room=f'{other}radiated_power = ["10 dBm", "18 dBm"]\nfar_gain = "2 dBi"')
    )
    assert loose.high - loose.low > exact.high - exact.low + 4.0


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("range [ft];received power [dBW]\n3,28084;-68\n32.8084;-90\n98.4252;-100\n", ""),
        ("Distance\tRSSI\n1\t-38\n10\t-60\n30\t-70\n", 'distance_unit = "m"\nlevel_unit = "dBm"'),
        ('"level (dBm)","spot","distance (cm)"\n-38,a,100\n-60,b,1000\n-70,c,3000\n', ""),
    ],
)
def test_one_series_in_other_units_and_columns_is_one_answer(link, tmp_path, text, units):
    (tmp_path / "levels.csv").write_text(text, encoding="utf-8")
    slope, offset = np.polyfit(np.log10([1.0, 10.0, 30.0]), [-38.0, -60.0, -70.0], 1)
    found = link(room=f"{THIS}\n{units}")
    assert _received(found).value == pytest.approx(offset + slope, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("distance (m),level (dBm)\n1,-40\n2\n", 3, "a row that ends too early"),
        ("distance (m),level (dBm)\n1,-40\nfar,-46\n", 3, "'far' as distance in m"),
        ("distance (m),level (dBm)\n0,-40\n", 2, "a distance of zero"),
        ("distance,level (dBm)\n1,-40\n", 1, "a column of distance without a unit"),
        ("distance (m),level (V)\n1,-40\n", 2, "as level in V"),
        ("1,-40\n2,-46\n", 1, "no column of distance in the heading"),
        ("distance (m),level 1 (dBm),level 2 (dBm)\n1,-4,-4\n", 1, "2 columns of level"),
        ("# nothing\n", None, "no reading"),
        ("distance (m),level (dBm)\n1,-40\n2,-46\n2,-47\n", None, "2 distinct distances"),
        (
            "distance (m),level (dBm)\n1,-60\n2,-40\n3,-70\n4,-42\n",
            None,
            "levels that fall with distance beyond doubt",
        ),
    ],
)
def test_a_series_that_tells_no_law_says_where_and_why(link, tmp_path, text, line, said):
    (tmp_path / "levels.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        link(room=THIS)
    assert said in str(caught.value)
    assert caught.value.file.endswith("levels.csv")
    assert caught.value.line == line


def test_shadowing_is_that_of_the_room_where_none_is_stated(link):
    room = 'kind = "indoor"\nsurroundings = "office"\nsight = "clear"'
    goal = 'distance = "10 m"\nreliability = "90 %"\nfading = "log-normal"'
    # 1.2816 standard deviations of 3.76 dB (ITU-R P.1238-11)
    allowance = link(room=room, goal=goal).comparison.without.fade_allowance
    assert allowance.value == pytest.approx(1.2816 * 3.76, abs=0.01)
    stated = link(room=room, goal=f'{goal}\nshadowing_sigma = "6 dB"').comparison.without
    assert stated.fade_allowance.value == pytest.approx(1.2816 * 6.0, abs=0.01)
    assert any("leaves that out" in note for note in link(room=room).notes)


def test_a_ground_of_ones_own_is_as_that_ground_of_the_table(link):
    room = (
        'kind = "over ground"\nheight = "1.5 m"\nfar_height = "1.5 m"\npolarisation = "vertical"\n'
    )
    by_name = _received(link(room=room + 'ground = "wood"')).value
    # ITU-R P.2040: wood is 1.99 and 0.0047 f^1.0718 S/m; wet sand of 20 is another ground
    sand = _received(link(room=room + 'permittivity = 20\nconductivity = "0.1 S/m"')).value
    same = f'permittivity = 2.0\nconductivity = "{0.0047 * (MIDDLE_HZ / 1e9) ** 1.0718:.6f} S/m"'
    assert _received(link(room=room + same)).value == pytest.approx(by_name, abs=0.02)
    assert abs(sand - by_name) > 0.2


@pytest.mark.parametrize(
    ("room", "field"),
    [
        ('kind = "open air"\n[[room.edges]]\nheight = "5 m"\nfrom_product = "1 cm"', "room.edges"),
        (THIS, "room.levels"),
        ('kind = "indoor"\nsurroundings = "office"\nsight = "clear"', "goal.distance"),
    ],
)
def test_a_refusal_names_the_key_that_is_at_fault(link, tmp_path, room, field):
    (tmp_path / "levels.csv").write_text("distance (m),level (dBm)\n1,-40\n", encoding="utf-8")
    goal = 'distance = "60 m"\nreliability = "90 %"\nfading = "none"'
    with pytest.raises(InputError) as caught:
        link(room=room, goal=goal)
    assert caught.value.field == field


def test_one_further_reading_lies_in_the_interval_of_a_single_observation(link, tmp_path):
    _series(tmp_path / "levels.csv", 2.7, -38.0)
    found = link(room=THIS)
    rows = np.genfromtxt(tmp_path / "levels.csv", delimiter=",", skip_header=2)
    x, level = np.log10(rows[:, 0]), rows[:, 1]
    # prediction of a single observation from the normal equations, at log10(10 m) = 1
    design = np.column_stack([np.ones_like(x), x])
    coefficients, (squares,), _, _ = np.linalg.lstsq(design, level, rcond=None)
    ask = np.array([1.0, 1.0])
    widening = 1.0 + ask @ np.linalg.inv(design.T @ design) @ ask
    for coverage in (0.5, 0.8, 0.95):
        half = stats.t.ppf(0.5 + coverage / 2.0, 58) * math.sqrt(squares / 58.0 * widening)
        reading = found.room.one_reading(10.0, coverage)
        assert reading.value == pytest.approx(ask @ coefficients)
        assert reading.high - reading.value == pytest.approx(half)
        assert reading.value - reading.low == pytest.approx(half)
        assert reading.kind == "measured"
    row = next(one for one in forecast_rows(found) if one.name.startswith("one reading at 10 m"))
    assert row.intervals[-1] == (
        f"-{half - coefficients.sum():.1f} to -{-half - coefficients.sum():.1f} dBm"
    )


def test_without_a_series_no_reading_is_foretold(link):
    assert link().room.one_reading(10.0) is None
    assert not [one for one in forecast_rows(link()) if "one reading" in one.name]


def test_what_a_series_shows_is_measured_and_not_asked_for_again(small, tmp_path):
    _series(tmp_path / "levels.csv", 2.7, -38.0)
    goal = 'distance = "10 m"\nreliability = "90 %"\nfading = "log-normal"'
    found = study(small('[metal]\nkind = "none"', room=THIS, goal=goal), emissions=False)
    told = {one.what for one in found.unstated}
    assert "standard deviation of shadowing" not in told
    assert "whether the metal was measured with" not in told
    known = found.links[0].comparison.forecast_without.known
    assert {known[name].kind for name in known if "shadowing" in name} <= {"measured"}
    office = 'kind = "indoor"\nsurroundings = "office"\nsight = "clear"'
    typical = study(small(room=office, goal=goal), emissions=False)
    assert "standard deviation of shadowing" in {one.what for one in typical.unstated}
