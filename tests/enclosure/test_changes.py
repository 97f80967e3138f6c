"""What would help: gains that begin at nothing, stay within the models, and are ranked."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure import changes, fullwave
from linkbudget.enclosure.box_changes import box_gain
from linkbudget.enclosure.boxes import radiated_loss
from linkbudget.enclosure.changes import Allowed, Change, changed_scene, what_would_help
from linkbudget.enclosure.geometry import (
    Board,
    Box,
    Metal,
    Opening,
    PlacedAntenna,
    Plate,
    Scene,
    StatedAttenuation,
)
from linkbudget.enclosure.plate_changes import plate_gain

F = 2.44e9
ALUMINIUM = Metal("aluminium", 3.5e7)
SIDES = ("above", "beside", "below", "anywhere")
SLOT = Opening("slot", 0.030, 0.001)
BOX = Box(0.2, 0.12, 0.025, 0.001, ALUMINIUM, (SLOT,), 100.0)

needs_solver = pytest.mark.skipif(
    not fullwave.available(), reason="the optional extra 'fullwave' is not installed"
)


def lid(length_m=0.18, width_m=0.12, depth_m=0.005, edge_m=None, skirt_m=0.0, openings=()):
    edge_m = width_m / 2 if edge_m is None else edge_m
    return Plate(length_m, width_m, 0.0015, ALUMINIUM, depth_m, edge_m, skirt_m, openings)


def scene(plate, **antenna):
    across_m = plate.width_m / 2 - plate.edge_distance_m
    placed = PlacedAntenna("half-wave dipole", "length", 0.0, across_m, plate.depth_m)
    return Scene(replace(placed, **antenna), plate=plate)


STILL = Allowed(
    deeper_m=0.0,
    to_edge_m=math.inf,
    window_m=0.0,
    new_slot_m=0.0,
    lower_skirt=False,
    half_wave_slot=False,
    quality_factor=0.0,
    clearance_m=0.0,
)


def tried(found):
    return [change for change in found if not change.ruled_out]


def named(found, words):
    (change,) = (one for one in found if words in one.name)
    return change


@pytest.fixture
def unsolved(monkeypatch):
    """A machine without the field solver."""
    monkeypatch.setattr(changes, "available", lambda: False)


# --- what must hold of any answer ------------------------------------------------------------


@given(
    st.floats(0.08, 0.40),
    st.floats(0.4, 1.0),
    st.floats(0.005, 0.030),
    st.floats(0.0, 0.025),
    st.sampled_from((0.0, 0.008)),
)
def test_more_depth_never_helps_less(length_m, ratio, depth_m, step_m, skirt_m):
    today = lid(length_m, length_m * ratio, 0.005, skirt_m=skirt_m)
    less, more = (
        plate_gain(today, replace(today, depth_m=each_m), F, "above").value
        for each_m in (min(depth_m, 0.030), min(depth_m + step_m, 0.030))
    )
    assert more >= less - 1e-9


@given(
    st.floats(0.08, 0.40),
    st.floats(0.4, 1.0),
    st.floats(0.005, 0.040),
    st.sampled_from(SIDES),
    st.sampled_from((0.0, 0.008)),
    st.sampled_from(((), (SLOT,))),
)
def test_no_change_gains_nothing(length_m, ratio, depth_m, toward, skirt_m, openings):
    same = lid(length_m, length_m * ratio, depth_m, skirt_m=skirt_m, openings=openings)
    gain = plate_gain(same, same, F, toward)
    assert (gain.value, *gain.band) == (0.0, 0.0, 0.0)


@given(
    st.floats(0.006, 0.040), st.floats(-0.02, 0.05), st.floats(-0.02, 0.05), st.sampled_from(SIDES)
)
def test_a_change_taken_back_gains_the_negative(depth_m, here_m, there_m, toward):
    one, other = lid(depth_m=depth_m, edge_m=here_m), lid(depth_m=0.006, edge_m=there_m)
    there, back = plate_gain(one, other, F, toward), plate_gain(other, one, F, toward)
    assert back.value == pytest.approx(-there.value, abs=1e-9)


@pytest.mark.parametrize("toward", SIDES)
@pytest.mark.parametrize("enclosure", [lid(), lid(skirt_m=0.008), lid(openings=(SLOT,)), BOX])
def test_every_change_begins_today_and_is_ranked(enclosure, toward):
    found = what_would_help(enclosure, F, toward)
    assert len(found) >= 3
    sure = [change.best[1].value for change in found if change.sure]
    rest = [change.best[1].value for change in found if not change.sure]
    assert [change.best[1].value for change in found] == sure + rest
    assert [sure, rest] == [sorted(sure, reverse=True), sorted(rest, reverse=True)]
    for change in found:
        assert change.limit_kind == "assumed"
        assert change.values.shape == (len(change.gain_db),)
        first = change.gain_db[0]
        assert (first.value, *first.band) == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
        assert change.best[1].value == max(gain.value for gain in change.gain_db)
        assert change.method == "closed form"
        assert len(set(np.sign(np.diff(change.values)))) == 1


def _change(value_db, low_db, method="closed form", steps=2, left_out=0):
    gain = Quantity(value_db, "dB", "computed", low_db, value_db + 5.0)
    values, gains = np.arange(float(steps)), (gain,) * steps
    return Change("", "", "mm", values, gains, (1.0, gain), method, 1.0, "assumed", left_out)


def test_what_is_sure_comes_before_what_may_gain_more():
    nothing, ruled_out = _change(0.0, 0.0), _change(0.0, 0.0, steps=1)
    untold = _change(0.0, 0.0, steps=1, left_out=3)
    surest_first = [
        _change(4.0, 2.0, "solved"),
        _change(3.0, 0.5),
        _change(6.0, -0.5),
        _change(2.0, -0.1, "solved"),
        nothing,
        untold,
        ruled_out,
    ]
    found = list(reversed(surest_first))
    assert sorted(found, key=changes._rank) == surest_first
    assert [one.gains for one in surest_first] == [True] * 4 + [False] * 3
    assert [one.sure for one in surest_first] == [True] * 2 + [False] * 5


def test_the_whole_sphere_holds_both_of_its_sides():
    nearer, further = lid(), lid(depth_m=0.015)
    sides = [plate_gain(nearer, further, F, side) for side in ("above", "below")]
    total = plate_gain(nearer, further, F, "anywhere")
    assert total.band[0] <= min(side.band[0] for side in sides)
    assert total.band[1] >= max(side.band[1] for side in sides)


# --- plates and trays ------------------------------------------------------------------------


def test_a_lid_at_5_mm_is_told_to_move_the_antenna_out_or_down():
    found = what_would_help(lid(), F, "above")
    names = [change.name for change in found]
    assert "edge" in names[0]
    assert "further from the sheet" in names[1]
    edge, depth = found[0], found[1]
    assert (edge.dimension, edge.unit) == ("distance inside the edge", "mm")
    assert (edge.values[0], edge.best[0]) == pytest.approx((60.0, -10.0))
    assert (depth.values[0], depth.values[-1]) == pytest.approx((5.0, 25.0))
    assert edge.sure
    assert depth.sure


def test_a_window_is_told_widely_and_only_for_the_side_behind():
    window = named(what_would_help(lid(depth_m=0.012), F, "above"), "window")
    low, high = window.best[1].band
    assert low < 0.5
    assert high > 5.0
    assert window.best[0] == pytest.approx(61.4, abs=0.1)  # half of 122.87 mm
    assert not named(what_would_help(lid(depth_m=0.012), F, "below"), "window").gains


def test_a_window_as_large_as_the_user_lets_it():
    window = named(
        what_would_help(lid(depth_m=0.012), F, "above", allowed=Allowed(window_m=0.030)), "window"
    )
    assert window.values.max() == window.limit == pytest.approx(30.0)
    assert window.limit_kind == "stated"
    assert not window.sure  # its low end is a window in the wrong place


def test_a_window_that_would_cut_the_edge_is_left_out_and_counted():
    window = named(what_would_help(lid(edge_m=0.02), F, "above"), "window")
    assert window.values.max() <= 40.0
    assert window.left_out == 4
    outside = what_would_help(lid(edge_m=-0.005), F, "above")
    assert not any("window" in change.name for change in outside)


def test_depths_beyond_the_computed_range_are_left_out_and_counted():
    # 0.36 wavelengths are 44.2 mm
    depth = named(what_would_help(lid(depth_m=0.030), F, "above"), "further")
    assert depth.values.max() <= 44.2
    assert depth.left_out == 3
    assert len(depth.values) == 8
    deep = named(what_would_help(lid(depth_m=0.0441), F, "above"), "further")
    assert (deep.untold, deep.ruled_out, deep.gains) == (True, False, False)
    assert deep.left_out == 10


def test_an_antenna_outside_the_edge_gains_nothing_from_depth():
    depth = named(what_would_help(lid(edge_m=-0.010), F, "above"), "further")
    assert not depth.gains


def test_a_tray_loses_its_skirt_and_an_antenna_never_stands_in_it():
    found = what_would_help(lid(0.2, 0.12, skirt_m=0.008), F, "above")
    skirt = named(found, "skirt")
    assert (skirt.values[0], skirt.best[0]) == pytest.approx((8.0, 0.0))
    assert skirt.best[1].value > 0.5
    touching = lid(0.2, 0.12, edge_m=0.010, skirt_m=0.008)
    edge = named(what_would_help(touching, F, "above"), "edge")
    assert edge.left_out == 1  # 0 mm
    assert np.abs(edge.values).min() == pytest.approx(2.0)
    assert not any("skirt" in change.name for change in what_would_help(lid(), F, "above"))


def test_what_the_user_does_not_allow_is_not_told():
    for enclosure, kinds in ((lid(skirt_m=0.008), 4), (BOX, 3)):
        found = what_would_help(enclosure, F, "above", allowed=STILL)
        assert len(found) == kinds
        for change in found:
            assert change.ruled_out
            assert not change.gains
            assert change.limit_kind == "stated"
            assert (len(change.values), change.gain_db[0].band) == (1, (0.0, 0.0))
    found = what_would_help(lid(), F, "above", allowed=replace(STILL, deeper_m=0.007))
    (only,) = tried(found)
    assert only.best[0] == only.limit == pytest.approx(12.0)
    assert found[0] is only


def test_an_antenna_at_its_furthest_has_nothing_to_be_told_about_the_edge():
    outside = lid(edge_m=-0.015)
    assert not any("edge" in one.name for one in what_would_help(outside, F, "above"))
    further = Allowed(to_edge_m=-0.030)
    edge = named(what_would_help(outside, F, "above", allowed=further), "edge")
    assert (edge.values[-1], edge.limit, edge.limit_kind) == pytest.approx((-30.0, -30.0, "stated"))


def test_a_stated_attenuation_has_no_dimensions_to_change():
    assert what_would_help(StatedAttenuation(12.0, 3.0), F, "above") == ()


@pytest.mark.parametrize(
    ("enclosure", "error"),
    [
        (lid(edge_m=0.07), OutOfRange),
        (lid(depth_m=-0.001), InputError),
        (replace(BOX, openings=()), MissingData),
        (replace(BOX, openings=(Opening("slot", 0.3, 0.001),)), InputError),
    ],
)
def test_an_impossible_product_is_refused_as_it_is(enclosure, error):
    with pytest.raises(error):
        what_would_help(enclosure, F, "above")


def test_a_box_below_its_first_resonance_has_no_change_to_tell():
    small = Box(0.03, 0.03, 0.02, 0.001, ALUMINIUM, (Opening("slot", 0.02, 0.001),))
    assert what_would_help(small, F, "above") == ()


def test_beyond_the_closed_forms_each_change_says_that_it_is_not_told(unsolved):
    far = lid(depth_m=0.130)
    found = tried(what_would_help(far, F, "above", scene=scene(far)))
    assert {change.name for change in found if change.untold} == {change.name for change in found}
    assert len(found) == 3
    for change in found:
        assert "Closed forms do not hold for this sheet (depth of the antenna" in change.notes[0]
        assert "the field solver alone would tell" in change.notes[0]


@needs_solver
def test_beyond_the_closed_forms_the_solver_settles_a_few_steps():
    far = lid(0.09, 0.06, depth_m=0.130)
    only = replace(STILL, deeper_m=0.020)
    (change,) = tried(what_would_help(far, F, "below", allowed=only, scene=scene(far)))
    assert change.method == "solved"
    assert change.values.tolist() == pytest.approx([130.0, 140.0, 150.0])
    assert all("method of moments" in gain.source for gain in change.gain_db)
    # a small sheet a wavelength away does next to nothing, wherever it is
    assert all(abs(gain.value) < 3.0 for gain in change.gain_db)
    assert "solved at a few steps" in change.notes[0]


# --- boxes -----------------------------------------------------------------------------------


def test_a_box_is_told_to_ring_its_slot():
    found = what_would_help(BOX, F, "anywhere")
    slot = named(found, "half a wavelength")
    assert slot.values[0] == 30.0
    assert slot.values[-1] == pytest.approx(61.43, abs=0.01)
    assert 50.0 < slot.best[0] <= 61.5
    # ten times the length of a small slot is 60 dB; 30 to 61 mm, past its resonance, 20 to 35
    assert 20.0 < slot.best[1].value < 35.0


def test_a_slot_longer_than_half_a_wave_is_shortened():
    long = replace(BOX, openings=(Opening("slot", 0.100, 0.001), Opening("round", 0.005, 0.005)))
    slot = named(what_would_help(long, F, "anywhere"), "half a wavelength")
    assert slot.values[0] == pytest.approx(100.0)
    assert slot.values[-1] == pytest.approx(61.43, abs=0.01)


def test_a_placed_slot_stays_within_its_wall():
    placed = replace(
        BOX,
        openings=(replace(SLOT, wall="lid", along="width", place_m=(0.0, 0.035)),),
        antenna=PlacedAntenna("short dipole", "upright", -0.04, -0.015, 0.015),
    )
    slot = named(what_would_help(placed, F, "above"), "half a wavelength")
    assert slot.values.max() <= 50.0  # 35 + 25 mm is the edge of the wall
    assert slot.left_out > 0


@pytest.mark.parametrize(
    ("toward", "where"),
    [
        ("above", "the lid, along its length"),
        ("below", "the floor, along its length"),
        ("beside", "the front wall, along its length"),
        ("anywhere", "the lid, along its length"),
    ],
)
def test_a_new_slot_names_its_wall_its_width_and_its_direction(toward, where):
    slot = named(what_would_help(BOX, F, toward), "new slot")
    assert slot.name == f"a new slot 2 mm wide in {where}"
    tall = replace(BOX, length_m=0.12, width_m=0.1, height_m=0.25)
    assert "upright" in named(what_would_help(tall, F, "beside"), "new slot").name


def test_a_new_slot_is_worth_more_where_the_others_lie_in_the_shadow():
    below = replace(BOX, openings=(replace(SLOT, wall="floor"),))
    slot = named(what_would_help(below, F, "above"), "new slot")
    unknown = named(what_would_help(BOX, F, "above"), "new slot")
    assert slot.best[1].value > unknown.best[1].value
    assert not any("not stated" in note for note in slot.notes)
    assert any("in which walls" in note for note in unknown.notes)


@given(st.floats(0.020, 0.055), st.sampled_from((30.0, 100.0)), st.booleans())
def test_a_new_slot_is_no_surer_than_an_opening_without_a_place(length_m, quality_factor, stands):
    antenna = PlacedAntenna("short dipole", "upright", -0.04, -0.015, 0.015) if stands else None
    pin_hole = Opening("round", 0.002, 0.002, wall="lid", place_m=(0.0, 0.0))
    box = replace(BOX, openings=(pin_hole,), quality_factor=quality_factor, antenna=antenna)
    (slot,) = tried(
        what_would_help(box, F, "anywhere", allowed=replace(STILL, new_slot_m=length_m))
    )
    unplaced = Opening("slot", slot.best[0] / 1e3, 0.002, wall="lid")
    loss = radiated_loss(replace(box, openings=(unplaced,)), F)
    gain = slot.best[1]
    assert gain.value - gain.band[0] >= loss.band[1] - loss.value - 0.1
    assert gain.band[1] - gain.value >= loss.value - loss.band[0] - 0.1


def test_a_box_without_a_slot_may_still_get_one():
    holes = replace(BOX, openings=(Opening("round", 0.010, 0.010, 12),))
    names = [change.name for change in what_would_help(holes, F, "anywhere")]
    assert any("a new slot" in name for name in names)
    assert not any("half a wavelength" in name for name in names)


def test_fewer_losses_gain_at_most_what_the_quality_factor_gains():
    tiny = replace(BOX, openings=(Opening("slot", 0.015, 0.001),))
    quality = named(what_would_help(tiny, F, "anywhere"), "losses")
    # three times the quality factor, nearly all of it lost inside: 10 log10 3
    assert quality.best == (pytest.approx(300.0), quality.gain_db[-1])
    assert quality.best[1].value == pytest.approx(4.77, abs=0.05)
    unknown = named(what_would_help(replace(tiny, quality_factor=None), F, "anywhere"), "losses")
    # it may be 300 already, or 30: nothing to gain, or 10 dB
    assert unknown.best[1].band[0] < 0.5
    assert unknown.best[1].band[1] > 9.9
    rich = replace(tiny, quality_factor=500.0)
    assert not any("losses" in change.name for change in what_would_help(rich, F, "anywhere"))


@given(st.floats(0.015, 0.06), st.floats(30.0, 300.0), st.sampled_from(SIDES))
def test_the_same_box_gains_nothing(length_m, quality_factor, toward):
    openings = (Opening("slot", length_m, 0.001, wall="lid"),)
    box = replace(BOX, openings=openings, quality_factor=quality_factor)
    gain = box_gain(box, box, F, toward)
    assert (gain.value, *gain.band) == (0.0, 0.0, 0.0)


# --- the field solver ------------------------------------------------------------------------


def test_without_the_solver_closed_forms_answer(unsolved):
    found = what_would_help(lid(), F, "above", scene=scene(lid()))
    assert {change.method for change in found} == {"closed form"}


@needs_solver
def test_the_best_steps_are_solved_and_the_window_is_not():
    plate = lid(0.09, 0.06, 0.008, openings=())
    fields = fullwave.compare(scene(plate), F, F)
    told = []
    found = what_would_help(
        plate, F, "above", scene=scene(plate), fields=fields, progress=told.append
    )
    methods = {change.name.split()[0]: change.method for change in found}
    assert methods == {"antenna": "solved", "square": "closed form"}
    assert [change.sure for change in found] == [True, True, False]
    assert any("holds no openings" in note for note in found[-1].notes)
    for change in found:
        if change.method == "solved":
            assert "method of moments" in change.best[1].source
            # the curve stays one model's
            assert "closed forms" in change.gain_db[-1].source
    assert told


@needs_solver
def test_a_skirt_cut_down_is_solved_as_well_as_time_allows():
    tray = lid(0.09, 0.06, 0.010, skirt_m=0.008)
    only = replace(STILL, lower_skirt=True, deeper_m=0.010, to_edge_m=-0.010)
    found = tried(what_would_help(tray, F, "above", allowed=only, scene=scene(tray)))
    assert len(found) == 3
    assert {change.method for change in found} == {"solved"}
    closed = tried(what_would_help(tray, F, "above", allowed=only, scene=scene(tray), solve=False))
    assert {change.method for change in closed} == {"closed form"}


@needs_solver
def test_a_sheet_with_openings_or_too_large_keeps_the_closed_forms(monkeypatch):
    slotted = lid(0.09, 0.06, 0.008, openings=(SLOT,))
    found = what_would_help(slotted, F, "above", scene=scene(slotted))
    assert {change.method for change in found} == {"closed form"}
    plate = lid(0.09, 0.06, 0.008)
    monkeypatch.setattr(changes, "seconds_to_solve", lambda segments: 5.0)
    slow = what_would_help(plate, F, "above", scene=scene(plate))
    methods = [change.method for change in slow]
    assert methods.count("solved") == 1  # 10 of 12 s
    assert methods.count("closed form") == 2
    assert any("too long" in note for change in slow for note in change.notes)


@needs_solver
def test_what_the_solver_refuses_stays_a_closed_form_and_says_why():
    # the long board runs through the skirt when the antenna moves out
    tray = lid(0.12, 0.08, 0.008, skirt_m=0.012)
    board = Board(0.10, 0.02, 0.0, 0.0, 0.011)
    (edge,) = tried(
        what_would_help(
            tray,
            F,
            "above",
            allowed=replace(STILL, to_edge_m=-0.010),
            scene=replace(scene(tray), board=board),
        )
    )
    assert edge.method == "closed form"
    assert any("the board inside or across the skirt" in note for note in edge.notes)


@needs_solver
def test_ground_under_a_chip_antenna_is_drawn_back():
    plate = lid(0.09, 0.06, 0.010)
    over = Scene(
        PlacedAntenna("chip", "length", 0.0, 0.0, 0.010, efficiency=0.6),
        Board(0.05, 0.03, 0.0, -0.011, 0.016),
        plate,
    )
    allowed = replace(STILL, clearance_m=0.010)
    (clearance,) = tried(what_would_help(plate, F, "below", allowed=allowed, scene=over))
    assert clearance.method == "solved"
    # its edge is at y = 4 mm, the antenna at 0: 4 mm inside, then 1 and 6 mm outside
    assert clearance.values.tolist() == pytest.approx([-4.0, 1.0, 6.0])
    assert clearance.gain_db[0].band == (0.0, 0.0)
    # 6 mm over a ground plane a short antenna loses most of its power in its own resistance
    assert clearance.best[1].value > 1.0
    standing = replace(over, antenna=replace(over.antenna, kind="inverted-F", y_m=0.0))
    found = what_would_help(
        plate, F, "below", allowed=replace(allowed, clearance_m=0.005), scene=standing
    )
    assert tried(found) == []
    (told,) = tried(what_would_help(plate, F, "below", allowed=allowed, scene=over, solve=False))
    assert told.untold
    assert told.left_out == 2
    (never,) = (
        one
        for one in what_would_help(plate, F, "below", allowed=STILL, scene=over)
        if "ground" in one.name
    )
    assert never.ruled_out


def test_a_short_board_is_not_drawn_back_to_nothing():
    board = Board(0.05, 0.008, 0.0, -0.010, 0.013)
    antenna = PlacedAntenna("chip", "length", 0.0, 0.0, 0.010)
    back = changes._drawn_back(board, antenna, 1, 0.004)
    # the far edge stays
    assert back.width_m == pytest.approx(0.004)
    assert back.y_m - back.width_m / 2 == pytest.approx(board.y_m - board.width_m / 2)


def test_a_changed_scene_moves_antenna_and_board_together():
    board = Board(0.05, 0.03, 0.0, 0.005, 0.020)
    today = lid(edge_m=0.040)
    now = replace(scene(today), board=board)
    then = changed_scene(now, today, replace(today, depth_m=0.012, edge_distance_m=-0.010))
    assert then.antenna.depth_m == pytest.approx(0.012)
    assert then.board.depth_m == pytest.approx(0.027)
    assert then.antenna.y_m == pytest.approx(0.070)  # 60 + 10 mm
    assert then.board.y_m == pytest.approx(0.055)
    assert then.antenna.x_m == then.board.x_m == 0.0
    # an antenna nearer to a short edge leaves by that one, on its own side
    end = replace(now, antenna=replace(now.antenna, x_m=-0.07, y_m=0.0))
    today = replace(today, edge_distance_m=0.020)
    out = changed_scene(end, today, replace(today, edge_distance_m=-0.010))
    assert (out.antenna.x_m, out.antenna.y_m) == pytest.approx((-0.10, 0.0))
