"""The geometry in three views: to scale, dimensioned, and the same that is solved."""

from dataclasses import replace

import pytest

from linkbudget.enclosure.geometry import Board, Opening, PlacedAntenna
from linkbudget.report.scene_drawing import LARGEST_PX, scene_facts, scene_views
from linkbudget.report.scene_parts import parts_of

BAND_HZ = 2.44e9


def _texts(view):
    return [shape.text for shape in view.shapes if shape.tag == "text"]


def _shapes(view, look):
    return [shape for shape in view.shapes if look in shape.look.split()]


def _number(shape, name):
    return float(dict(shape.at)[name])


def test_every_dimension_of_the_tray_and_the_antenna_is_written(scene):
    above, front, right = scene_views(scene, BAND_HZ)
    # 200 x 120 mm; 20 mm left of and 10 mm behind the middle: 80 to the left edge, 50 to the back
    assert {"200", "120", "80", "50"} <= set(_texts(above))
    assert {"8", "12"} <= set(_texts(front))
    assert [v.name.split(",")[0] for v in (above, front, right)] == [
        "From above",
        "From the front",
        "From the right",
    ]


def test_all_views_have_one_scale(scene):
    above, front, right = scene_views(scene, BAND_HZ)
    sheet = [_shapes(view, "metal")[0] for view in (above, front, right)]
    assert _number(sheet[0], "width") == _number(sheet[1], "width") == LARGEST_PX  # 200 mm
    scale = LARGEST_PX / 200.0
    for shape, name in ((sheet[0], "height"), (sheet[2], "width")):  # 120 mm
        assert _number(shape, name) == pytest.approx(120.0 * scale, abs=0.1)


def test_views_fit_a_telephone(scene, box):
    for geometry in (scene, box):
        assert all(view.width_px <= 358.0 for view in scene_views(geometry, BAND_HZ))


def test_the_antenna_stands_where_it_is_solved(scene):
    above, front, right = scene_views(scene, BAND_HZ)
    scale = LARGEST_PX / 200.0
    sheet, feed = _shapes(above, "metal")[0], _shapes(above, "feed")[0]
    middle_x = _number(sheet, "x") + _number(sheet, "width") / 2.0
    middle_y = _number(sheet, "y") + _number(sheet, "height") / 2.0
    assert _number(feed, "x") + 3.0 == pytest.approx(middle_x - 20.0 * scale, abs=0.2)
    assert _number(feed, "y") + 3.0 == pytest.approx(middle_y - 10.0 * scale, abs=0.2)
    # half-wave dipole at 2.44 GHz, a little shorter than 61.4 mm
    (wire,) = parts_of(scene, BAND_HZ).wires
    assert wire[1][0] - wire[0][0] == pytest.approx(57.0, abs=3.0)
    # from the right it points at the reader: a ringed dot, no line
    assert _shapes(right, "toward")
    assert not any(shape.tag == "polyline" for shape in right.shapes)
    assert any(shape.tag == "polyline" for shape in front.shapes)


def test_the_way_up_is_shown_and_the_far_end_named(scene):
    for view in scene_views(scene, BAND_HZ, "above"):
        assert any(text.startswith("above, the far end") for text in _texts(view))
    below = scene_views(scene, BAND_HZ, "below")
    assert "below, the far end" in _texts(below[1])
    assert _texts(below[1]).count("above") == 1


def test_the_board_and_an_antenna_on_it_are_drawn(scene):
    board = Board(0.08, 0.05, 0.0, -0.005, 0.02)
    antenna = PlacedAntenna("inverted-F", "length", -0.04, 0.02, 0.02)
    above, front, right = scene_views(replace(scene, antenna=antenna, board=board), BAND_HZ)
    assert all(_shapes(view, "board") for view in (above, front, right))
    assert "80" in _texts(front)
    assert {"50", "20"} <= set(_texts(right))
    assert len([s for s in above.shapes if s.tag == "polyline"]) > 2


def test_an_antenna_that_cannot_stand_is_still_marked(scene):
    lost = replace(scene, antenna=PlacedAntenna("inverted-F", "length", 0.0, 0.0, 0.02))
    above, *_ = scene_views(lost, BAND_HZ)
    assert _shapes(above, "toward")


def test_openings_stand_on_their_walls_or_say_why_not(box):
    above, front, right = scene_views(box, BAND_HZ)
    (slot,) = _shapes(above, "opening")
    assert _number(slot, "width") == pytest.approx(61.0 * LARGEST_PX / 203.0, abs=0.2)
    (hole,) = _shapes(front, "opening")
    assert (hole.tag, hole.look) == ("ellipse", "opening far guessed")
    assert not _shapes(right, "opening")
    facts = dict(scene_facts(box, BAND_HZ))
    assert facts["slot"].endswith("wall not stated, not drawn")
    assert facts["round"].startswith("12 times 5 mm in the back; place not stated")
    assert {"200", "120", "70", "50"} <= set(_texts(above))  # 30 mm left of the middle: 70


def test_an_opening_with_a_place_is_drawn_in_the_sheet(scene):
    window = Opening("rectangle", 0.03, 0.02, place_m=(0.01, -0.02))
    holed = replace(scene, plate=replace(scene.plate, openings=(window,)))
    above, *_ = scene_views(holed, BAND_HZ)
    (drawn,) = _shapes(above, "opening")
    scale = LARGEST_PX / 200.0
    assert _number(drawn, "width") == pytest.approx(30.0 * scale, abs=0.2)
    bare = replace(scene, plate=replace(scene.plate, openings=(replace(window, place_m=None),)))
    assert "not drawn" in dict(scene_facts(bare, BAND_HZ))["rectangle"]


def test_each_view_is_described_in_words(scene):
    for view in scene_views(scene, BAND_HZ):
        assert "tray: 200 x 120 x 1.5 mm, aluminium, its rim 8 mm down" in view.described
        assert "half-wave dipole along the length, 12 mm under the sheet" in view.described
