"""Figures: what they show, where it stands, and that a label stays a label."""

import itertools
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.report.figures import budget_figure, label
from linkbudget.report.level_figures import level_figure
from linkbudget.report.reach_figures import reach_figure, variants_figure
from linkbudget.report.scan_figures import highest_per_step, scan_figure
from linkbudget.report.scan_groups import MOST_PEAK_MARKS, marked_peaks, scan_groups


def _trace(figure, name):
    return next(trace for trace in figure.data if trace.name == name)


def _strict(figure):
    def refuse(constant):
        raise AssertionError(f"{constant} in the figure")

    return json.loads(figure.to_json(), parse_constant=refuse)


@pytest.fixture(scope="module")
def groups(study):
    return {group.title: group for group in scan_groups(study.emissions)}


def test_both_stairs_end_at_their_received_level(study):
    link = study.links[0]
    figure = budget_figure(link)
    for name, budget in (
        ("without metal", link.comparison.without),
        ("with metal", link.comparison.with_metal),
    ):
        assert _trace(figure, name).x[0] == pytest.approx(4.0)  # the stated conducted power
        assert _trace(figure, name).x[-1] == pytest.approx(budget.received.value, abs=0.01)
        assert _trace(figure, f"{name}, received").x[0] == budget.received.value


def test_steps_of_zero_are_left_out_and_others_printed_with_their_sign(study):
    steps = budget_figure(study.links[0]).layout.yaxis.ticktext
    assert "loss, free space<br><b>−63.7</b> dB" in steps
    assert not any("cable" in step for step in steps)
    assert steps[-1] == "<b>received level</b>"


def test_sensitivity_and_fade_allowance_stand_at_their_levels(study):
    for figure in (budget_figure(study.links[0]), level_figure(study.links[0])):
        names = [trace.name for trace in figure.data]
        assert "sensitivity, −94.0 dBm" in names
        assert "sensitivity and fade margin needed, −74.0 dBm" in names


def test_no_fade_allowance_draws_no_second_line(study):
    link = study.links[0]
    zero = replace(link.comparison.without.fade_allowance, value=0.0)
    bare = replace(link.comparison, without=replace(link.comparison.without, fade_allowance=zero))
    names = [trace.name for trace in budget_figure(replace(link, comparison=bare)).data]
    assert sum("sensitivity" in name for name in names) == 1


def test_the_wanted_distance_is_marked_at_its_exponent(study):
    figure = level_figure(study.links[0])
    assert figure.layout.shapes[0].x0 == 15.0
    note = next(a for a in figure.layout.annotations if a.text.startswith("wanted"))
    assert note.x == pytest.approx(math.log10(15.0))


def test_reach_is_marked_where_the_curve_meets_the_needed_level(study):
    link = study.links[0]
    mark = _trace(level_figure(link), "with metal, reach")
    assert mark.x[0] == link.comparison.reach_with.distance.value
    # sensitivity -94 dBm, Rayleigh at 99 %: -10 log10(-ln 0.99) = 19.98 dB
    assert mark.y[0] == pytest.approx(-74.02, abs=0.005)
    curve = _trace(level_figure(link), "with metal")
    at_reach = np.interp(np.log10(mark.x[0]), np.log10(curve.x), curve.y)
    assert at_reach == pytest.approx(-74.0, abs=2.0)  # the sample's curve has its own metal term


def _believed_to(link, distance_m):
    return replace(link, room=replace(link.room, believed_to_m=distance_m))


def test_beyond_belief_the_curve_is_thin_the_ground_shaded_and_the_reach_a_bound(study):
    link = _believed_to(study.links[0], 16.0)
    found = link.comparison
    bound = replace(found.reach_without.distance, coverage="at most")
    found = replace(found, reach_without=replace(found.reach_without, distance=bound))
    figure = level_figure(replace(link, comparison=found))
    thick, thin = _trace(figure, "without metal"), _trace(figure, "without metal, beyond belief")
    assert max(thick.x) <= 16.0 < max(thin.x) == 200.0  # the sample's curve ends at 200 m
    assert thin.x[0] == thick.x[-1]
    assert thin.line.width < thick.line.width
    assert thin.legendgroup == thick.legendgroup
    assert any(
        shape.x0 == 16.0 and shape.x1 == pytest.approx(200.0) for shape in figure.layout.shapes
    )
    assert "free space alone cannot say" in {note.text for note in figure.layout.annotations}
    assert "≤" in _trace(figure, "without metal, reach").text[0]
    assert "≤" not in _trace(figure, "with metal, reach").text[0]
    names = [trace.name for trace in level_figure(study.links[0]).data]
    assert not any("beyond" in name for name in names)


def test_bands_of_the_level_are_those_of_the_forecast_at_the_wanted_distance(study):
    link = study.links[0]
    figure, level = level_figure(link), link.comparison.forecast_with.level
    for coverage, ends in (("95 %", level.intervals[2]), ("80 %", level.intervals[1])):
        band = _trace(figure, f"{coverage} band, with metal")
        half = len(band.x) // 2
        high, low = (
            np.interp(np.log10(15.0), np.log10(x), y)
            for x, y in (
                (band.x[:half], band.y[:half]),
                (band.x[half:][::-1], band.y[half:][::-1]),
            )
        )
        curve = _trace(figure, "with metal")
        typical = np.interp(np.log10(15.0), np.log10(curve.x), curve.y)
        received = link.comparison.with_metal.received.value
        assert high - typical == pytest.approx(ends[1].value - received, abs=0.02)
        assert low - typical == pytest.approx(ends[0].value - received, abs=0.02)


def test_a_doubtful_slope_widens_the_band_away_from_the_wanted_distance(study):
    link = study.links[1]
    slope = Quantity(20.0, "dB", "stated", 16.0, 24.0)
    turned = replace(link.room, slope=slope, pivot_m=15.0)
    figure = level_figure(replace(link, room=turned))
    band = _trace(figure, "95 % band, without metal")
    half = len(band.x) // 2
    width = np.array(band.y[:half]) - np.array(band.y[half:][::-1])
    at = np.array(band.x[:half])
    plain = _trace(level_figure(link), "95 % band, without metal")
    now = float(plain.y[0] - plain.y[-1])
    # one decade from the pivot the slope adds 4 dB to each side, as root of squares
    expected = 2.0 * math.hypot(now / 2.0, 4.0)
    assert np.interp(150.0, at, width) == pytest.approx(expected, abs=0.05)
    assert np.interp(15.0, at, width) == pytest.approx(now, abs=0.05)


def test_an_exponent_in_doubt_leaves_the_band_narrow_at_its_pivot(study):
    """The wanted distance holds that doubt already: it is taken out there, put in elsewhere."""
    link = study.links[0]
    slope = Quantity(28.5, "dB", "stated", 22.0, 35.0, shape="rectangular")  # [2.2, 3.5]
    pivot_m = link.wanted_distance_m / 2.0
    room = replace(link.room, slope=slope, pivot_m=pivot_m)
    band = _trace(level_figure(replace(link, room=room)), "95 % band, with metal")
    count = len(band.x) // 2
    at = np.log10(np.array(band.x[:count]) / pivot_m)
    half_db = (np.array(band.y[:count]) - np.array(band.y[count:][::-1])) / 2.0
    low, high = link.comparison.forecast_with.level.intervals[-1]
    wanted_db = (high.value - low.value) / 2.0
    # 95 % of a rectangle of 6.5 dB to either side for each decade from the pivot
    slope_db = 0.95 * 6.5
    rest_db2 = wanted_db**2 - (slope_db * np.log10(2.0)) ** 2
    assert rest_db2 > 0.0
    assert half_db == pytest.approx(np.sqrt(rest_db2 + (slope_db * at) ** 2), abs=0.05)
    assert abs(at[np.argmin(half_db)]) < 0.05


def test_noise_rise_raises_the_level_that_is_needed(study):
    link = study.links[1]
    rise = Quantity(3.0, "dB", "typical")
    noisy = replace(link.comparison.without, desensitisation=rise)
    noisy = replace(link, comparison=replace(link.comparison, without=noisy))
    names = [trace.name for trace in budget_figure(noisy).data]
    assert "sensitivity, noise rise and fade margin needed, −71.0 dBm" in names


def test_the_chance_stands_at_the_wanted_distance_and_falls_with_distance(study):
    link = study.links[0]
    figure = reach_figure(link)
    for name, forecast in (
        ("without metal", link.comparison.forecast_without),
        ("with metal", link.comparison.forecast_with),
    ):
        mark = _trace(figure, f"{name}, wanted")
        assert (mark.x[0], mark.y[0]) == (15.0, 100.0 * forecast.chance.value)
        curve = next(one for one in figure.data if one.name == name and len(one.x) > 4)
        assert np.all(np.diff(curve.y) <= 0.0)
        assert np.interp(15.0, curve.x, curve.y) == pytest.approx(mark.y[0], abs=1.0)


def test_the_intervals_stand_within_each_other(study):
    link = study.links[0]
    bars = [one for one in reach_figure(link).data if one.name == "with metal" and len(one.x) == 2]
    by_width = sorted(bars, key=lambda one: one.line.width)
    assert [one.line.width for one in by_width] == [2.0, 6.0, 11.0]
    for wide, narrow in itertools.pairwise(by_width):
        assert wide.x[0] < narrow.x[0] < narrow.x[1] < wide.x[1]


def test_where_a_law_ends_the_curve_ends_too(study):
    link = study.links[1]
    reach = link.comparison.forecast_without.reach
    low_m, high_m = (float(np.interp(share, reach.shares, reach.values)) for share in (0.2, 0.7))
    held = replace(reach, values=np.clip(reach.values, low_m, high_m))
    forecast = replace(link.comparison.forecast_without, reach=held)
    link = replace(
        link,
        room=replace(link.room, distance_m=np.array([low_m, high_m])),
        comparison=replace(link.comparison, forecast_without=forecast),
    )
    figure = reach_figure(link)
    curve = next(one for one in figure.data if one.name == "without metal" and len(one.x) > 4)
    assert curve.x[0] == pytest.approx(low_m, abs=1e-4)
    assert curve.x[-1] == pytest.approx(high_m, abs=1e-4)
    assert curve.y[0] == pytest.approx(80.0, abs=1.1)  # 20 % reach less than the law begins at
    assert curve.y[-1] == pytest.approx(30.0, abs=1.1)
    assert [note.text for note in figure.layout.annotations].count("law ends") >= 1


def test_a_reach_at_the_end_of_a_law_is_marked_on_the_curve_as_a_bound(study):
    link = study.links[1]
    reach = link.comparison.reach_without
    end = Quantity(100.0, "m", "computed", 40.0, 100.0, coverage="at least")
    link = replace(
        link,
        room=replace(link.room, distance_m=np.array([0.5, 100.0])),
        comparison=replace(link.comparison, reach_without=replace(reach, distance=end)),
    )
    figure = level_figure(link)
    mark, curve = _trace(figure, "without metal, reach"), _trace(figure, "without metal")
    assert mark.y[0] == pytest.approx(np.interp(100.0, curve.x, curve.y), abs=0.02)
    assert "≥" in mark.text[0]


def test_a_link_without_any_doubt_is_drawn_without_bands(study):
    link = study.links[1]
    found = link.comparison.forecast_without

    def exact(outcome):
        middle = outcome.median
        flat = np.full(outcome.values.shape, middle.value)
        return replace(outcome, values=flat, intervals=((middle, middle),) * 3)

    sure = replace(found, level=exact(found.level), reach=exact(found.reach))
    link = replace(link, comparison=replace(link.comparison, forecast_without=sure))
    assert not any("band" in trace.name for trace in level_figure(link).data)
    _strict(reach_figure(link))
    _strict(variants_figure((link, link)))


def test_variants_stand_below_each_other_with_margin_and_chance(study):
    links = study.links[:2]
    figure = variants_figure(links)
    first, second = figure.layout.yaxis.ticktext
    assert first.startswith("<b>aluminium lid</b><br>margin −")
    assert "<br>chance " in second
    shown = [trace.name for trace in figure.data if trace.showlegend]
    assert sorted(shown) == ["with metal", "without metal"]
    _strict(figure)


def test_scans_without_a_line_share_a_figure_by_set_up(study):
    bare = tuple(replace(scan, against=()) for scan in study.emissions.scans)
    groups = scan_groups(replace(study.emissions, scans=bare))
    assert [(group.title, len(group.scans)) for group in groups] == [
        ("Radiated at 3 m, 30 MHz to 1 GHz: no line is drawn", 4),
        ("Radiated at 3 m, 1 to 5.2 GHz: no line is drawn", 2),
        ("AC mains, 150 kHz to 30 MHz: no line is drawn", 2),
    ]


def test_a_link_without_metal_has_one_stair_and_one_curve(study):
    makers = (budget_figure, level_figure, reach_figure)
    for figure in (make(study.links[1]) for make in makers):
        assert not any("with metal" in trace.name for trace in figure.data)


def test_scans_are_sorted_by_port_and_range(groups):
    assert list(groups) == [
        "Radiated at 3 m, 30 MHz to 1 GHz",
        "Radiated at 3 m, 1 to 6 GHz",
        "AC mains, 150 kHz to 30 MHz",
    ]
    assert [len(group.scans) for group in groups.values()] == [4, 2, 2]
    assert [len(group.lines) for group in groups.values()] == [1, 2, 2]


def test_the_limit_line_has_its_step_at_230_mhz(groups):
    line = _trace(scan_figure(groups["Radiated at 3 m, 30 MHz to 1 GHz"]), "limit, quasi-peak")
    # CISPR 32 class B at 3 m, 40 dBuV/m to 230 MHz and 47 dBuV/m above (secondary source)
    assert list(zip(line.x, line.y, strict=True)) == [
        (30.0, 40.0),
        (230.0, 40.0),
        (230.0, 47.0),
        (1000.0, 47.0),
    ]


def test_the_worst_peak_is_labelled_first_with_frequency_and_margin(groups):
    figure = scan_figure(groups["Radiated at 3 m, 30 MHz to 1 GHz"])
    labels = [a.text for a in figure.layout.annotations if a.name == "peak"]
    assert labels[0] == "48.007\u00a0MHz<br><b>1.8\u00a0dB over</b>"


def test_a_peak_scan_over_the_average_line_is_open_not_over(groups):
    peaks = marked_peaks(groups["AC mains, 150 kHz to 30 MHz"])
    assert peaks[0].is_open
    assert peaks[0].words == "needs average reading"
    assert not any(peak.margin_db < 0.0 and not peak.is_open for peak in peaks)


def test_own_transmitter_and_uncovered_range_are_shaded_and_named(groups):
    figure = scan_figure(groups["Radiated at 3 m, 1 to 6 GHz"])
    names = {a.text for a in figure.layout.annotations}
    assert "2.4 GHz radio: band and out-of-band domain" in names
    assert "2.4 GHz radio: harmonic 2" in names
    assert "not measured in full" in names
    edges = {(round(s.x0, 4), round(s.x1, 4)) for s in figure.layout.shapes}
    assert (2.396, 2.4875) in edges  # 2.4 to 2.4835 GHz and two bandwidths of 2 MHz on each side
    assert any(x1 == 6.0 for _, x1 in edges)


def test_marks_are_few_enough_to_read(groups):
    assert all(len(marked_peaks(group)) <= MOST_PEAK_MARKS for group in groups.values())


def test_a_refused_scan_gets_a_figure_without_a_line(study):
    scan = replace(study.emissions.scans[0], against=(), refused="a probe's level is no field")
    (group,) = scan_groups(replace(study.emissions, scans=(scan,)))
    assert group.lines == ()
    assert [trace.name for trace in scan_figure(group).data] == ["aluminium lid, H, peak"]


def test_the_highest_point_of_a_trace_survives_thinning():
    frequency = np.geomspace(30e6, 1e9, 50_000)
    level = np.full(frequency.size, 20.0)
    level[31_415] = 66.0
    f, kept = highest_per_step(frequency, level)
    assert kept.max() == 66.0
    assert f[kept.argmax()] == frequency[31_415]
    assert f.size <= 900


def test_levels_that_are_not_numbers_are_left_out(study, groups):
    group = groups["AC mains, 150 kHz to 30 MHz"]
    scan = group.scans[0]
    level = scan.trace.level_db.copy()
    level[10:20] = np.nan
    broken = replace(scan, trace=replace(scan.trace, level_db=level))
    _strict(scan_figure(replace(group, scans=(broken, *group.scans[1:]))))


@pytest.mark.parametrize("maker", [budget_figure, level_figure, reach_figure])
def test_figures_are_strict_json(study, maker):
    _strict(maker(study.links[0]))


def test_labels_lose_markup_length_and_control_characters():
    assert label("<b>lid</b> & co") == "&lt;b&gt;lid&lt;/b&gt; &amp; co"
    assert len(label("x" * 300)) == 48
    assert "\x1b" not in label("\x1b[31mred")


def test_hostile_names_reach_no_figure_raw(hostile_study):
    beside = variants_figure(hostile_study.links[:2]).to_json()
    assert "<script" not in beside
    assert "\\u003cscript" not in beside
    for group in scan_groups(hostile_study.emissions):
        spec = scan_figure(group).to_json()
        assert "<script" not in spec
        assert "\\u003cscript" not in spec
        assert "<b>bold" not in spec
