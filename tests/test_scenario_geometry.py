"""Where the antenna stands, what it is, and what was measured: from a scenario to a scene."""

import pytest

from linkbudget.core.errors import InputErrors
from linkbudget.enclosure.geometry import Board, PlacedAntenna
from linkbudget.scenario import enclosure_of, load_scenario, scene_of, starter


@pytest.fixture
def bent(tmp_path):
    def make(*swaps):
        text = starter()
        for old, new in swaps:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "bent.toml"
        path.write_text(text, encoding="utf-8")
        return load_scenario(path)

    return make


EDGE = 'antenna_to_edge = "30 mm"'


def test_a_way_to_the_edge_puts_the_antenna_beside_the_middle(bent):
    # a plate of 300 x 250 mm, 30 mm from its long edge
    scene = scene_of(bent())
    assert (scene.antenna.x_m, scene.antenna.y_m) == pytest.approx((0.0, 0.095))
    assert scene.antenna.kind == "half-wave dipole"
    assert scene.antenna.depth_m == pytest.approx(0.015)


def test_a_place_gives_the_way_to_the_nearest_edge(bent):
    scenario = bent((EDGE, 'antenna_at = ["-100 mm", "40 mm"]'))
    assert scene_of(scenario).antenna.x_m == pytest.approx(-0.1)
    # 150 - 100 mm to the end, 125 - 40 mm to the side
    assert enclosure_of(scenario).edge_distance_m == pytest.approx(0.05)


def test_antenna_and_board_as_stated(bent):
    scenario = bent(
        ("[antenna]", '[board]\nlength = "80 mm"\nwidth = "50 mm"\ndepth = "18 mm"\n\n[antenna]'),
        ("[antenna]", '[antenna]\nkind = "chip"\nalong = "width"'),
    )
    scene = scene_of(scenario)
    assert scene.board == Board(0.08, 0.05, 0.0, 0.0, pytest.approx(0.018))
    assert scene.antenna == PlacedAntenna(
        "chip", "width", 0.0, pytest.approx(0.095), 0.015, None, 0.6
    )


def test_both_or_no_place_is_a_mistake(bent):
    with pytest.raises(InputErrors, match="both antenna_to_edge and antenna_at"):
        bent((EDGE, EDGE + '\nantenna_at = ["0 mm", "0 mm"]'))
    with pytest.raises(InputErrors, match="no place of the antenna"):
        bent((EDGE, ""))


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ('levels_with = ["-70 dBm"]', "one of each for every place"),
        ('with_metal = "a.s2p"', "no complete pair"),
        ('with_metal = "a.s2p"\nwithout_metal = "b.s2p"', "a file that exists"),
    ],
)
def test_a_measured_pair_must_be_a_pair(bent, table, said):
    with pytest.raises(InputErrors, match=said):
        bent(("[room]", f"[measured]\n{table}\n\n[room]"))


PAIR = 'levels_with = ["-70 dBm"]\nlevels_without = ["-60 dBm"]\n'


def test_a_measured_pair_may_say_where_the_other_end_stood(bent):
    assert bent(("[room]", f"[measured]\n{PAIR}\n[room]")).measured.toward is None
    stated = bent(("[room]", f'[measured]\n{PAIR}toward = "beside"\n\n[room]'))
    assert stated.measured.toward == "beside"
    with pytest.raises(InputErrors, match="toward"):
        bent(("[room]", f'[measured]\n{PAIR}toward = "anywhere"\n\n[room]'))
