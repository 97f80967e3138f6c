"""Rooms, fading and disturbers as a user writes them, and what contradicts itself."""

import pytest

from linkbudget.core.errors import InputErrors
from linkbudget.scenario import load_scenario, starter

OPEN = 'kind = "open air"'
OFFICE = 'kind = "indoor"\nsurroundings = "office"\n'


@pytest.fixture
def load(tmp_path):
    """Read the starter with another room, and pieces of its goal replaced."""

    def make(room, *swaps, more=""):
        text = starter().replace(OPEN, room, 1)
        for old, new in swaps:
            assert old in text, old
            text = text.replace(old, new, 1)
        (tmp_path / "levels.csv").write_text("distance (m),level (dBm)\n1,-40\n", encoding="utf-8")
        path = tmp_path / "scenario.toml"
        path.write_text(f"{text}\n{more}", encoding="utf-8")
        return load_scenario(path)

    return make


@pytest.mark.parametrize(
    "room",
    [
        'kind = "over ground"\nheight = "1 m"\nfar_height = "2 m"\nground = "wood"\n'
        'polarisation = "vertical"',
        OFFICE + 'sight = "clear"\n[[room.walls]]\nmaterial = "brick"\nthickness = "120 mm"',
        OFFICE + "floors = 1",
        'kind = "indoor"\nsurroundings = "house"',
        'kind = "exponent"\nexponent = [2.2, 3.5]\noffset = { value = "0 dB", within = "3 dB" }',
        'kind = "exponent"\nexponent = 3\n[[room.edges]]\nheight = "-5 cm"\nfrom_product = "1 m"',
        'kind = "measured"\nlevels = "levels.csv"\nof_this_link = true\nwith_metal = false',
        'kind = "measured"\nlevels = "levels.csv"\nof_this_link = false\n'
        'radiated_power = "10 dBm"\nfar_gain = ["0 dBi", "2 dBi"]',
    ],
)
def test_every_kind_of_room_is_read(load, room):
    assert f'kind = "{load(room).room.kind}"' in room


@pytest.mark.parametrize(
    ("room", "field", "wanted"),
    [
        (OFFICE, "room", 'found no key "sight" with surroundings = "office"'),
        (
            'kind = "indoor"\nsurroundings = "corridor"\nsight = "clear"\nfloors = 1',
            "room.floors",
            "for which no law knows floors",
        ),
        (OFFICE + 'floors = 0\nsight = "clear"', "room.sight", "the law that answers knows no"),
        (
            OFFICE + 'floors = 0\n[[room.walls]]\nloss = "5 dB"',
            "room.walls",
            "they would count twice",
        ),
        (
            f'{OPEN}\n[[room.walls]]\nmaterial = "brick"',
            "room.walls[1]",
            "found half of a wall; expected material with thickness, or loss",
        ),
        (
            f'{OPEN}\n[[room.walls]]\nmaterial = "brick"\nthickness = "1 m"\nloss = "9 dB"',
            "room.walls[1].loss",
            "one of the two",
        ),
        (
            'kind = "exponent"\nexponent = [2.0, 3.0]\n[[room.edges]]\nheight = "1 m"\n'
            'from_product = "1 m"',
            "room.exponent",
            "found an exponent that is in doubt, and edges",
        ),
        ('kind = "exponent"\nexponent = [0.5, 3.0]', "room.exponent", "a number from 1 to 8"),
        ('kind = "exponent"\nexponent = "3"', "room.exponent", "without quotation marks"),
        (
            'kind = "measured"\nlevels = "levels.csv"\nof_this_link = true\nfar_gain = "2 dBi"',
            "room.far_gain",
            "Levels of this very link hold both its ends already",
        ),
        (
            'kind = "measured"\nlevels = "levels.csv"\nof_this_link = false\nfar_gain = "2 dBi"',
            "room",
            'found no key "radiated_power" with of_this_link = false',
        ),
        (
            'kind = "measured"\nlevels = "lost.csv"\nof_this_link = true',
            "room.levels",
            "expected a file that exists",
        ),
        (f"{OPEN}\nfloors = 1", "room.floors", 'kind = "open air" has no such key'),
    ],
)
def test_a_room_that_contradicts_itself(load, room, field, wanted):
    with pytest.raises(InputErrors) as caught:
        load(room)
    assert field in [error.field for error in caught.value.errors]
    assert wanted in str(caught.value)


RAYLEIGH = 'fading = "rayleigh" '


@pytest.mark.parametrize(
    ("room", "fading", "wanted"),
    [
        (OPEN, 'fading = "rice"', 'fading = "rice" without rice_factor'),
        (OPEN, 'rice_factor = "3 dB"\nfading = "rayleigh"', 'fading = "rayleigh" with rice_factor'),
        (OPEN, 'fading = "rayleigh and log-normal"', "without shadowing_sigma; expected"),
        (OPEN, 'shadowing_sigma = "3 dB"\nfading = "none"', "with shadowing_sigma"),
    ],
)
def test_fading_that_lacks_its_number(load, room, fading, wanted):
    with pytest.raises(InputErrors, match=wanted):
        load(room, (RAYLEIGH, fading + " "))


def test_a_room_that_scatters_brings_its_own_shadowing(load):
    room = OFFICE + 'sight = "clear"'
    assert load(room, (RAYLEIGH, 'fading = "log-normal" ')).goal.shadowing_sigma is None


def test_disturbers_and_clocks_are_read(load):
    more = (
        '[[interference]]\nkind = "wireless LAN"\ndistance = "5 m"\nradiated_power = "100 mW"\n'
        'activity = "30 %"\n[[interference]]\nkind = "USB port"\n[[interference]]\n'
        'kind = "noise rise"\nrise = ["1 dB", "4 dB"]\nactivity = "50 %"\n'
        '[[clocks]]\nname = "bus"\nfrequency = "48 MHz"\ntolerance = "0.01 %"\n'
    )
    scenario = load(OPEN, more=more)
    neighbour, _, rise = scenario.interference
    assert neighbour.radiated_power.value == pytest.approx(20.0)
    assert rise.rise.band == (1.0, 4.0)
    assert scenario.clocks[0].tolerance == pytest.approx(100.0)  # ppm


def test_a_radio_that_hops_and_does_not(load):
    swap = ("channels = 16", 'channels = 16\nmodulation = "frequency hopping"\nhopping = false')
    with pytest.raises(InputErrors, match="hopping = true, or another modulation"):
        load(OPEN, swap)


@pytest.mark.parametrize(
    ("old", "new", "field", "wanted"),
    [
        (
            'fading = "rayleigh"',
            'fading = "rice"\nrice_factor = "40 dB"',
            "goal.rice_factor",
            "expected -30 dB to 30 dB",
        ),
        (
            'fading = "rayleigh"',
            'fading = "rice"\nrice_factor = { value = "28 dB", within = "3 dB" }',
            "goal.rice_factor",
            "reaches from 25 to 31",
        ),
        (
            'fading = "rayleigh"',
            'fading = "log-normal"\nshadowing_sigma = "30 dB"',
            "goal.shadowing_sigma",
            "at most 20 dB",
        ),
        (
            'fading = "rayleigh"',
            'fading = "log-normal"\nshadowing_sigma = ["4 dB", "21 dB"]',
            "goal.shadowing_sigma",
            "reaches from 4",
        ),
    ],
)
def test_fading_beyond_what_is_computed_is_told_at_its_own_line(load, old, new, field, wanted):
    with pytest.raises(InputErrors) as caught:
        load(OPEN, (old, new))
    [error] = caught.value.errors
    assert error.field == field
    assert wanted in str(error)


@pytest.mark.parametrize(
    "new",
    [
        'fading = "rice"\nrice_factor = "30 dB"',
        'fading = "rice"\nrice_factor = "-30 dB"',
        'fading = "log-normal"\nshadowing_sigma = "20 dB"',
    ],
)
def test_the_ends_of_those_ranges_are_read(load, new):
    assert load(OPEN, ('fading = "rayleigh"', new)).goal.fading in new


BELOW_1_GHZ = ('band = ["2.405 GHz", "2.480 GHz"]', 'band = ["868 MHz", "868.6 MHz"]')
GROUND = 'kind = "over ground"\nheight = "1 m"\nfar_height = "2 m"\npolarisation = "vertical"\n'
OWN = 'permittivity = 15\nconductivity = "0.05 S/m"'


@pytest.mark.parametrize(
    ("room", "field", "wanted"),
    [
        (
            GROUND + 'ground = "wet ground"',
            "room.ground",
            'found "wet ground" at 868.3 MHz, where its table does not hold; expected a ground'
            " that is tabled there: wood, glass. Or state the ground's own permittivity",
        ),
        (GROUND + 'ground = "wood"\n' + OWN, "room.ground", "both ways to state the ground"),
        (GROUND + "permittivity = 15", "room", "half of a ground"),
        (GROUND, "room", "no ground"),
        (
            OPEN + '\n[[room.walls]]\nmaterial = "brick"\nthickness = "12 cm"',
            "room.walls[1].material",
            "state the loss of the wall instead",
        ),
        (
            OPEN + '\n[[room.edges]]\nheight = "0 m"\nfrom_product = "12 m"',
            "room.edges[1].from_product",
            "less than goal.distance, 10 m",
        ),
    ],
)
def test_what_no_table_or_path_holds_is_told_at_its_own_line(load, room, field, wanted):
    with pytest.raises(InputErrors) as caught:
        load(room, BELOW_1_GHZ)
    [error] = caught.value.errors
    assert error.field == field
    assert wanted in str(error)


def test_the_ground_may_be_stated_by_itself(load):
    room = load(GROUND + OWN, BELOW_1_GHZ).room
    assert (room.permittivity, room.conductivity, room.ground) == (15.0, 0.05, None)
