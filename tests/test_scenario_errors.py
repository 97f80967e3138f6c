"""What a user reads when a scenario is wrong: where, what was found, what is expected."""

import pytest

from linkbudget.core.errors import InputErrors
from linkbudget.scenario import load_scenario, starter

MANY_MISTAKES = """\
schema = "linkbudget/scenario/2"
[product]
name = ""
family = "multimedia"
equipment_clas = "B"
mains = "adaptor"
highest_internal_frequency = "2,4 GHz"
[variants]
name = "a"
[radios.bt]
band = ["2.4 GHz"]
channels = "40"
bandwidth = 2
conducted_power = "4 dBi"
distance = "4 m"
[antenna]
gain = "9**9**9 dBi"
efficiency = "140 %"
polarisation = "liner"
[metal]
kind = "plate"
material = "aluminum"
skirt = "8 mm"
width = "0 mm"
[[metal.openings]]
shape = "round"
length = "3 mm"
[room]
kind = "office"
[goal]
reliability = "100 %"
fading = "rayleigh"
[[scans]]
file = "x.csv"
port = "AC main"
transducer = "antenna"
bandwith = "9 kHz"
[[scans.corrections]]
rolle = "x"
value = "3 dBm"
[booking]
slot_price = "4500"
ship_date = 2027-03-01T10:00:00
"""

EXPECTED = """\
1: schema: found 'linkbudget/scenario/2'; expected "linkbudget/scenario/1"
2: product.equipment_class: found no key "equipment_class"; expected equipment_class = "A" or "B" (
3: product.name: found an empty text; expected at least one letter
4: product.family: found 'multimedia'; expected a product family: "multimedia and IT equipment", "la
5: product.equipment_clas: found the unknown key 'equipment_clas'; expected one of name, description
6: product.mains: found 'adaptor'; expected "none", "built-in" or "adapter". Did you mean "adapter"?
7: product.highest_internal_frequency: found '2,4 GHz'; expected a number and a unit, such as "480 M
8: variants: found a table; expected a list of tables, each [[variants]]. Double brackets make a lis
11: radios.bt.band[2]: found a list that ends too early; expected 2 entries or more
12: radios.bt.channels: found '40'; expected a whole number from 1 to 100000. Write it without quota
13: radios.bt.bandwidth: found 2; expected a number and a unit, such as "120 kHz". Write it as text
14: radios.bt.conducted_power: found '4 dBi'; expected a number and a unit, such as "4 dBm". dBi is
15: radios.bt.distance: found the unknown key 'distance'; expected one of description, technology, b
17: antenna.gain: found '9**9**9 dBi'; expected a number and a unit, such as "2 dBi"
18: antenna.efficiency: found '140 %'; expected 0.001 % to 100 %, such as "55 %"
19: antenna.polarisation: found 'liner'; expected "linear", "circular" or "unknown". Did you mean "l
20: metal.length: found no key "length"; expected length = "200 mm" (Longer side of the metal)
20: metal.thickness: found no key "thickness"; expected thickness = "1.5 mm" (Thickness of the sheet
20: metal.antenna_depth: found no key "antenna_depth"; expected antenna_depth = "12 mm" (From the sh
22: metal.material: found 'aluminum'; expected a metal: "aluminium", "aluminium alloy sheet", "alumi
23: metal.skirt: found the unknown key 'skirt'; expected one of material, conductivity, relative_per
24: metal.width: found '0 mm'; expected a length greater than zero, such as "120 mm"
25: metal.openings[1].diameter: found no key "diameter"; expected diameter = "5 mm" (Diameter of the
27: metal.openings[1].length: found the unknown key 'length'; expected one of count, wall, along, at
29: room.kind: found 'office'; expected "open air", "over ground", "indoor", "exponent" or "measure
30: goal.distance: found no key "distance"; expected distance = "10 m" (Distance that the link must
31: goal.reliability: found '100 %'; expected 50 % to 99.999 %, such as "99 %"
35: scans[1].port: found 'AC main'; expected "enclosure" or "AC mains". Did you mean "AC mains"?
37: scans[1].bandwith: found the unknown key 'bandwith'; expected one of file, name, port, transduce
38: scans[1].corrections[1].role: found no key "role"; expected role = "antenna factor", "cable loss
39: scans[1].corrections[1].rolle: found the unknown key 'rolle'; expected one of role, table, value
40: scans[1].corrections[1].value: found '3 dBm'; expected a number in dB, or in dB/m for an antenna
42: booking.slot_price: found '4500'; expected an amount and a currency of three letters, such as "4
43: booking.ship_date: found '2027-03-01 10:00:00'; expected a date as year-month-day, such as 2027-
"""


def _messages(tmp_path, text):
    path = tmp_path / "scenario.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputErrors) as caught:
        load_scenario(path)
    return [str(error).removeprefix(f"{path}:") for error in caught.value.errors]


def _message(tmp_path, text):
    messages = _messages(tmp_path, text)
    assert len(messages) == 1
    return messages[0]


def test_all_field_mistakes_at_once_in_the_order_of_the_file(tmp_path):
    messages = _messages(tmp_path, MANY_MISTAKES)
    wanted = EXPECTED.splitlines()
    assert len(messages) == len(wanted)
    for message, beginning in zip(messages, wanted, strict=True):
        assert message.startswith(beginning)


def test_help_stands_at_the_end(tmp_path):
    text = "\n".join(_messages(tmp_path, MANY_MISTAKES))
    assert 'Did you mean "multimedia and IT equipment"?' in text
    assert 'Did you mean "equipment_class"?' in text
    assert 'Did you mean "bandwidth"?' in text
    assert "product.highest_internal_frequency" in text
    assert "Write the decimal mark as a point, and no thousands marks" in text
    assert "dBi is a unit of gain, not of power level." in text
    assert "It belongs to [goal], [interference] or [scans]." in text
    assert 'kind = "plate" has no such key; remove it, or write another kind.' in text
    assert 'shape = "round" has no such key; remove it, or write another shape.' in text
    assert "Units of ratio: dB." in text


def test_missing_root_tables_are_told_with_their_heading(tmp_path):
    assert _messages(tmp_path, "radios = {}") == [
        " product: found no table [product]; expected [product]: The product under study",
        " variants: found no table [[variants]]; expected [[variants]]: Versions of the"
        " product, each [[variants]]",
    ]


def _starter(*changes):
    text = starter()
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        (
            [("[radios.short_range]", "[radios]")],
            "radios.band: found a list; expected a table [radios.band]",
        ),
        ([("[goal]", "[[goal]]")], "goal: found a list; expected a table [goal]. Single brackets"),
        (
            [('kind = "plate"', 'kind = "bucket"')],
            "metal.kind: found 'bucket'; expected \"plate\", ",
        ),
        ([('kind = "plate"', "kind = 3")], "metal.kind: found 3; expected "),
        (
            [('kind = "plate"', "")],
            'metal: found no key "kind"; expected kind = "plate", "tray", "box", ',
        ),
        ([('"15 mm" ', '"0 mm"')], "metal.antenna_depth: found '0 mm'; expected a length greater "),
        ([('"10 m"', '"-1 m"')], "goal.distance: found '-1 m'; expected a length greater than ze"),
        ([("channels = 16", "channels = 0")], "radios.short_range.channels: found 0; expected a w"),
        ([("channels = 16", "channels = 1.5")], "found 1.5; expected a whole number from 1 to 10"),
        ([('"2.405 GHz", "2.480 GHz"', '"2.405 GHz", 7, "3 GHz"')], "expected 2 entries"),
        ([('name = "Floor scale"', 'name = "a\\u0007b"')], "expected text without control chara"),
        ([('name = "Floor scale"', "name = 7")], "product.name: found 7; expected text in quota"),
        ([('"Floor scale"', f'"{"x" * 1001}"')], "found 1001 letters; expected at most 1000 let"),
        ([('"10 m"', "{ a = 1 }")], "goal.distance: found a table; expected a number and a unit"),
    ],
)
def test_wrong_types_and_values(tmp_path, changes, wanted):
    assert wanted in "\n".join(_messages(tmp_path, _starter(*changes)))


def test_a_flood_of_mistakes_is_cut_short(tmp_path):
    text = starter() + "".join(f"z{n} = 1\n" for n in range(500))
    messages = _messages(tmp_path, text)
    assert len(messages) == 101
    assert "found 400 more mistakes; expected none" in messages[-1]


# ---------------------------------------------------------------- between fields


def test_between_fields_only_when_the_fields_are_right(tmp_path):
    between = ('radio = "short_range"', 'radio = "long_range"')
    messages = _messages(tmp_path, _starter(between, ("channels = 16", "channels = 0")))
    assert len(messages) == 1
    assert "channels" in messages[0]
    assert "found 'long_range'" in _message(tmp_path, _starter(between))


def test_all_mistakes_between_fields_at_once(tmp_path):
    text = _starter(
        ('mains = "none"', 'mains = "adapter"'),
        ('radio = "short_range"', 'radio = "short_rang"'),
        ('["2.405 GHz", "2.480 GHz"]', '["2.480 GHz", "2.405 GHz"]'),
        ('"300 mm"  ', '"200 mm"  '),
    )
    assert [message.split(":")[1].strip() for message in _messages(tmp_path, text)] == [
        "product.mains_adapter",
        "variants[1].radio",
        "radios.short_range.band",
        "metal.width",
    ]


SCAN = '[[scans]]\nfile = "starting.csv"\nport = "enclosure"\ntransducer = "antenna"\n'
MAINS = SCAN.replace("enclosure", "AC mains").replace("antenna", "line-impedance network")


@pytest.mark.parametrize(
    ("changes", "addition", "wanted"),
    [
        (
            [('radio = "short_range"', 'radio = "short_rang"')],
            "",
            'variants[1].radio: found \'short_rang\'; expected a radio: "short_range" or "none".'
            ' Did you mean "short_range"?',
        ),
        (
            [('radio = "short_range"', 'radio = "uhf"')],
            "",
            "Describe it in a table [radios.uhf].",
        ),
        (
            [("[radios.short_range]", "[radios.none]"), ('"short_range"', '"none"')],
            "",
            'radios.none: found a radio with the key "none"; expected another key',
        ),
        (
            [('"rayleigh"  ', '"log-normal"')],
            "",
            'goal.shadowing_sigma: found fading = "log-normal" without shadowing_sigma; expected'
            ' shadowing_sigma = "6 dB", or a room of kind "indoor" or "measured", which has',
        ),
        (
            [('"rayleigh"  ', '"none"\nshadowing_sigma = "6 dB"')],
            "",
            'found fading = "none" with shadowing_sigma',
        ),
        (
            [("channels = 16", 'allocated_band = ["2.41 GHz", "2.4835 GHz"]')],
            "",
            "radios.short_range.allocated_band: found 2.41 GHz to 2.4835 GHz; expected a range"
            " round the band, 2.405 GHz to 2.48 GHz",
        ),
        (
            [("channels = 16", 'noise_figure = "6 dB"')],
            "",
            "sensitivity: found both ways to state the receiver; expected either sensitivity, or",
        ),
        (
            [('sensitivity = "-100 dBm"', 'noise_figure = "6 dB"')],
            "",
            "radios.short_range: found half of a receiver; expected either",
        ),
        ([('sensitivity = "-100 dBm"', "")], "", "radios.short_range: found no receiver"),
        (
            [('gain = "2 dBi"', ""), ('efficiency = "60 %"', "")],
            "",
            "antenna: found neither gain nor efficiency; expected at least one of the two",
        ),
        (
            [('return_loss = "9 dB"', 'return_loss = "9 dB"\ntouchstone = "scenario.toml"')],
            "",
            "antenna.touchstone: found both return_loss and touchstone; expected one of the two",
        ),
        (
            [('return_loss = "9 dB"', 'touchstone = "a.s1p"')],
            "",
            "antenna.touchstone: found 'a.s1p'; expected a file that exists; there is none at ",
        ),
        (
            [('mains = "none"', 'mains = "adapter"')],
            "",
            'product.mains_adapter: found mains = "adapter" without an adapter; expected the',
        ),
        (
            [('mains = "none"', 'mains = "none"\nmains_adapter = "12 V"')],
            "",
            'found an adapter and mains = "none"; expected mains = "adapter", or no adapter',
        ),
        (
            [],
            '[[variants]]\nname = "wireless"\nradio = "none"\n',
            "variants[2].name: found the name 'wireless' a second time; expected names that differ."
            " variants[1] has it already; give each a name of its own.",
        ),
        (
            [],
            SCAN,
            "scans[1].distance: found a radiated scan without its distance; expected the distance",
        ),
        (
            [],
            SCAN.replace("starting.csv", "lost.csv") + 'distance = "3 m"\n',
            "scans[1].file: found 'lost.csv'; expected a file that exists; there is none at ",
        ),
        ([], SCAN.replace("starting.csv", ".") + 'distance = "3 m"\n', "found a folder, "),
        (
            [],
            SCAN + 'distance = "3 m"\nvariant = "wired"\n',
            "scans[1].variant: found 'wired'; expected a variant: \"wireless\"",
        ),
        (
            [],
            SCAN.replace("antenna", "line-impedance network"),
            "found transducer = 'line-impedance network' at port = 'enclosure'; expected an",
        ),
        ([], MAINS, "scans[1].port: found a scan of the AC mains port, and a product with mains ="),
        (
            [],
            2 * (SCAN + 'distance = "3 m"\n'),
            "scans[2].name: found the name 'starting' a second time",
        ),
        (
            [],
            SCAN + 'distance = "3 m"\n[[scans.corrections]]\nrole = "cable loss"\n',
            "scans[1].corrections[1]: found neither table nor value; expected one of the two",
        ),
        (
            [],
            SCAN
            + 'distance = "3 m"\n[[scans.corrections]]\nrole = "attenuator"\nvalue = "3 dB"\n'
            + 'table = "starting.csv"\n',
            "scans[1].corrections[1]: found both table and value",
        ),
        (
            [],
            SCAN
            + 'distance = "3 m"\n[[scans.corrections]]\nrole = "antenna factor"\nvalue = "3 dB"\n',
            "scans[1].corrections[1].value: found 3 dB as antenna factor; expected a value in dB/m",
        ),
        (
            [],
            SCAN
            + 'distance = "3 m"\n[[scans.corrections]]\nrole = "cable loss"\nvalue = "3 dB/m"\n',
            "scans[1].corrections[1].value: found 3 dB/m as cable loss; expected a value in dB",
        ),
        (
            [],
            SCAN
            + 'distance = "3 m"\n[[scans.corrections]]\nrole = "line-impedance network"\n'
            + 'value = "3 dB"\n',
            "scans[1].corrections[1].role: found 'line-impedance network' at port = 'enclosure'",
        ),
        (
            [],
            '[booking]\nslot_price = "1 EUR"\nweek_of_delay = "2 CHF"\n',
            "booking.week_of_delay: found 2 CHF; expected an amount in EUR, as the price above",
        ),
    ],
)
def test_contradiction(tmp_path, changes, addition, wanted):
    (tmp_path / "starting.csv").write_text("1,2\n")
    assert wanted in _message(tmp_path, _starter(*changes) + addition)


def test_a_radio_needs_both_ends_and_a_goal(tmp_path):
    text = starter()
    text = text[: text.index("# The antenna in the product.")]
    assert _messages(tmp_path, text) == [
        f" {table}: found no table [{table}], though variant 'wireless' has a radio;"
        f" expected [{table}]: {meaning}"
        for table, meaning in (
            ("antenna", "the product's antenna"),
            ("far_end", "the other end of the link"),
            ("goal", "the distance and reliability wanted"),
        )
    ]


OPENING = '[[metal.openings]]\nshape = "{}"\n{}\n'


@pytest.mark.parametrize(
    ("changes", "addition", "wanted"),
    [
        (
            [("material = ", 'conductivity = "1 MS/m"\nmaterial = ')],
            "",
            "metal.conductivity: found both material and conductivity; expected one of the two",
        ),
        (
            [("material = ", "# material = ")],
            "",
            "metal: found neither material nor conductivity; expected one of the two, such as mat",
        ),
        (
            [("material = ", "relative_permeability = 5.0\nmaterial = ")],
            "",
            "metal.relative_permeability: found relative_permeability without conductivity",
        ),
        (
            [('"250 mm"', '"310 mm"')],
            "",
            "metal.width: found a width of 310 mm; expected at most the length, 300 mm",
        ),
        (
            [('"2 mm"\nantenna', '"250 mm"\nantenna')],
            "",
            "metal.thickness: found a thickness of 250 mm; expected less than the smallest side",
        ),
        (
            [('"30 mm"   ', '"126 mm"')],
            "",
            "metal.antenna_to_edge: found 126 mm to the nearest edge; expected at most half the"
            " width, 125 mm",
        ),
        (
            [],
            OPENING.format("slot", 'length = "20 mm"\nwidth = "30 mm"'),
            "metal.openings[1].width: found a width of 30 mm and a length of 20 mm; expected the",
        ),
        (
            [],
            OPENING.format("slot", 'length = "301 mm"\nwidth = "3 mm"'),
            "metal.openings[1].length: found an opening of 301 mm by 3 mm; expected less than the"
            " largest wall, 300 mm by 250 mm",
        ),
        (
            [],
            OPENING.format("round", 'diameter = "260 mm"'),
            "metal.openings[1].diameter: found an opening of 260 mm by 260 mm; expected less than",
        ),
        (
            [],
            OPENING.format("round", 'diameter = "50 mm"\ncount = 40'),
            "metal.openings[1].count: found 40 openings, larger together than their wall",
        ),
    ],
)
def test_impossible_metal(tmp_path, changes, addition, wanted):
    assert wanted in _message(tmp_path, _starter(*changes) + addition)


def test_antenna_in_the_middle_of_the_metal_is_possible(tmp_path):
    path = tmp_path / "scenario.toml"
    path.write_text(_starter(('"30 mm"   ', '"125 mm"')), encoding="utf-8")
    assert load_scenario(path).metal.antenna_to_edge == pytest.approx(0.125)


def _box(tmp_path, openings, antenna="", height="25 mm"):
    text = _starter(
        ('kind = "plate"', f'kind = "box"\nheight = "{height}"'),
        ("antenna_depth", "# antenna_depth"),
        ("antenna_to_edge", f"{antenna}\n# antenna_to_edge"),
    )
    text = text.replace("[antenna]", '[antenna]\nkind = "half-wave dipole"', 1)
    path = tmp_path / "box.toml"
    path.write_text(text + openings, encoding="utf-8")
    try:
        load_scenario(path)
    except InputErrors as errors:
        (only,) = errors.errors
        line = path.read_text(encoding="utf-8").splitlines()[only.line - 1]
        return f"{line} -> {only}"
    return ""


_SLOT = '[[metal.openings]]\nshape = "slot"\nlength = "60 mm"\nwidth = "1 mm"\nwall = "lid"\n'


@pytest.mark.parametrize(
    ("openings", "antenna", "line", "words"),
    [
        (_SLOT + 'along = "length"\nat = ["140 mm", "0 mm"]\n', "", "at = ", "over the edge"),
        (
            _SLOT.replace("lid", "left") + 'along = "upright"\n',
            "",
            "[[metal.openings]]",
            "fits into",
        ),
        (
            _SLOT,
            'antenna_at = ["135 mm", "0 mm"]\nantenna_depth = "12 mm"',
            'antenna_at = ["135 mm"',
            "outside the box",
        ),
    ],
)
def test_a_box_that_cannot_be_made_names_the_line(tmp_path, openings, antenna, line, words):
    told = _box(tmp_path, openings, antenna)
    assert told.startswith(line)
    assert words in told


def test_of_two_openings_in_one_place_the_second_is_named(tmp_path):
    placed = _SLOT + 'along = "length"\nat = ["0 mm", "0 mm"]\n'
    told = _box(tmp_path, placed + placed)
    assert "metal.openings[2].at: found a slot 60 x 1 mm" in told


def test_box_without_openings_is_left_to_the_enclosure(tmp_path):
    path = tmp_path / "scenario.toml"
    text = _starter(
        ('kind = "plate"', 'kind = "box"\nheight = "30 mm"'),
        ("antenna_depth", "# antenna_depth"),
        ("antenna_to_edge", "# antenna_to_edge"),
    )
    path.write_text(text, encoding="utf-8")
    assert load_scenario(path).metal.openings == ()
