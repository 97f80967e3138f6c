"""Figures: what they show, where it stands, and that a label stays a label."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from linkbudget.report.figures import budget_figure, label
from linkbudget.report.level_figures import level_figure
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
    assert "free-space loss<br><b>−63.7</b> dB" in steps
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
    assert mark.y[0] == pytest.approx(-74.0)  # sensitivity -94 dBm, fade allowance 20 dB
    curve = _trace(level_figure(link), "with metal")
    at_reach = np.interp(np.log10(mark.x[0]), np.log10(curve.x), curve.y)
    assert at_reach == pytest.approx(-74.0, abs=2.0)  # the sample's curve has its own metal term


def test_beyond_free_space_the_curve_is_thin_the_ground_shaded_and_the_reach_a_bound(study):
    link = replace(study.links[0], free_space_to_m=16.0)
    figure = level_figure(link)
    thick, thin = (
        _trace(figure, "without metal"),
        _trace(figure, "without metal, beyond free space"),
    )
    assert max(thick.x) <= 16.0 < max(thin.x) == 200.0  # the sample's curve ends at 200 m
    assert thin.x[0] == thick.x[-1]
    assert thin.line.width < thick.line.width
    assert thin.legendgroup == thick.legendgroup
    assert any(
        shape.x0 == 16.0 and shape.x1 == pytest.approx(200.0) for shape in figure.layout.shapes
    )
    assert "≤" in _trace(figure, "without metal, reach").text[0]
    assert "≤" not in _trace(figure, "with metal, reach").text[0]
    names = [trace.name for trace in level_figure(study.links[0]).data]
    assert not any("beyond" in name for name in names)


def test_the_band_is_named_for_what_it_holds(study):
    assert _trace(level_figure(study.links[0]), "spread of the metal alone").fill == "toself"


def test_scans_without_a_line_share_a_figure_by_set_up(study):
    bare = tuple(replace(scan, against=()) for scan in study.emissions.scans)
    groups = scan_groups(replace(study.emissions, scans=bare))
    assert [(group.title, len(group.scans)) for group in groups] == [
        ("Radiated at 3 m, 30 MHz to 1 GHz: no line is drawn", 4),
        ("Radiated at 3 m, 1 to 5.2 GHz: no line is drawn", 2),
        ("AC mains, 150 kHz to 30 MHz: no line is drawn", 2),
    ]


def test_a_link_without_metal_has_one_stair_and_no_band(study):
    for figure in (budget_figure(study.links[1]), level_figure(study.links[1])):
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


@pytest.mark.parametrize("maker", [budget_figure, level_figure])
def test_figures_are_strict_json(study, maker):
    _strict(maker(study.links[0]))


def test_labels_lose_markup_length_and_control_characters():
    assert label("<b>lid</b> & co") == "&lt;b&gt;lid&lt;/b&gt; &amp; co"
    assert len(label("x" * 300)) == 48
    assert "\x1b" not in label("\x1b[31mred")


def test_hostile_names_reach_no_figure_raw(hostile_study):
    for group in scan_groups(hostile_study.emissions):
        spec = scan_figure(group).to_json()
        assert "<script" not in spec
        assert "\\u003cscript" not in spec
        assert "<b>bold" not in spec
