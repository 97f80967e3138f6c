"""What any honest model of metal must do, and how it speaks where it ends."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.geometry import Box, Metal, Opening, Plate, StatedAttenuation
from linkbudget.enclosure.paths import metal_effect

ALUMINIUM = Metal("aluminium", 3.5e7)
FREQUENCY_HZ = 2.44e9
SIDES = ("above", "beside", "below", "anywhere")

depths = st.floats(0.004, 0.030)
sizes = st.floats(0.06, 0.40)
ratios = st.floats(0.3, 1.0)


def lid(length_m=0.18, width_m=0.12, depth_m=0.012, edge_m=None, *, skirt_m=0.0, openings=()):
    edge_m = width_m / 2 if edge_m is None else edge_m
    return Plate(length_m, width_m, 0.0015, ALUMINIUM, depth_m, edge_m, skirt_m, openings)


def box(*openings, length_m=0.2):
    return Box(length_m, 0.12, 0.025, 0.001, ALUMINIUM, openings)


def loss_db(plate, toward="above", frequency_hz=FREQUENCY_HZ):
    return metal_effect(plate, frequency_hz, toward).total.value


@settings(deadline=None)
@given(sizes, ratios, depths, st.floats(1.05, 2.0))
def test_deeper_is_less_detuned(length_m, ratio, depth_m, factor):
    near = metal_effect(lid(length_m, length_m * ratio, depth_m), FREQUENCY_HZ, "above")
    far = metal_effect(lid(length_m, length_m * ratio, depth_m * factor), FREQUENCY_HZ, "above")
    assert far.detuning.value < near.detuning.value


@settings(deadline=None)
@given(depths, st.floats(-0.03, 0.05), st.floats(0.002, 0.03))
def test_further_out_loses_less(depth_m, edge_m, step_m):
    further_in = loss_db(lid(depth_m=depth_m, edge_m=edge_m))
    further_out = loss_db(lid(depth_m=depth_m, edge_m=edge_m - step_m))
    assert further_out < further_in


@settings(deadline=None)
@given(sizes, ratios, depths, st.floats(1.05, 2.0))
def test_bigger_plate_casts_more_shadow(length_m, ratio, depth_m, factor):
    small = lid(length_m, length_m * ratio, depth_m)
    large = lid(length_m * factor, length_m * ratio * factor, depth_m)
    assert loss_db(large) > loss_db(small)


@settings(deadline=None)
@given(depths, st.floats(0.001, 0.010), st.floats(0.001, 0.010))
def test_higher_skirt_casts_more_shadow(depth_m, skirt_m, more_m):
    assert loss_db(lid(depth_m=depth_m, skirt_m=skirt_m + more_m)) > loss_db(
        lid(depth_m=depth_m, skirt_m=skirt_m)
    )


@settings(deadline=None)
@given(sizes, ratios, depths, st.floats(-0.02, 0.02), st.floats(0.2, 3.0))
def test_only_lengths_in_wavelengths_count(length_m, ratio, depth_m, edge_m, scale):
    width_m = length_m * ratio
    edge_m = min(edge_m, width_m / 2)
    plain = lid(length_m, width_m, depth_m, edge_m)
    scaled = lid(length_m * scale, width_m * scale, depth_m * scale, edge_m * scale)
    for toward in SIDES:
        assert loss_db(scaled, toward, FREQUENCY_HZ / scale) == pytest.approx(
            loss_db(plain, toward), abs=1e-6
        )


@settings(deadline=None)
@given(sizes, ratios, st.floats(0.002, 0.1), st.floats(-0.05, 0.03), st.floats(0.0, 0.02))
def test_both_sides_together_hold_the_radiated_power(length_m, ratio, depth_m, edge_m, skirt_m):
    width_m = length_m * ratio
    plate = lid(length_m, width_m, depth_m, min(edge_m, width_m / 2), skirt_m=skirt_m)
    above, below, anywhere = (loss_db(plate, toward) for toward in ("above", "below", "anywhere"))
    power = (10 ** (-above / 10) + 10 ** (-below / 10)) / 2
    assert -10 * math.log10(power) == pytest.approx(anywhere, abs=0.01)


@settings(deadline=None)
@given(sizes, ratios, st.floats(0.002, 0.1), st.sampled_from(SIDES))
def test_paths_add_up_to_the_total(length_m, ratio, depth_m, toward):
    effect = metal_effect(lid(length_m, length_m * ratio, depth_m), FREQUENCY_HZ, toward)
    power = sum(10 ** (-path.loss.value / 10) for path in effect.paths)
    assert -10 * math.log10(power) + effect.detuning.value == pytest.approx(
        effect.total.value, abs=0.01
    )
    assert effect.dominant == effect.paths[0].name
    assert effect.paths[0].loss.value == min(path.loss.value for path in effect.paths)


@settings(deadline=None)
@given(sizes, ratios, depths, st.floats(0.0005, 0.003))
def test_aluminium_sheet_never_dominates(length_m, ratio, depth_m, thickness_m):
    width_m = length_m * ratio
    plate = Plate(length_m, width_m, thickness_m, ALUMINIUM, depth_m, width_m / 2)
    effect = metal_effect(plate, FREQUENCY_HZ, "above")
    sheet = next(path for path in effect.paths if path.name == "through the sheet")
    assert effect.dominant == "round the edge"
    assert sheet.loss.value == 200.0
    assert sheet.note == "the metal alone: at least 200 dB"


def test_a_coating_thin_enough_lets_the_power_through():
    # 1 nm of aluminium, 28.6 ohm a square: 20 log10(1 + 376.7 / 57.1) = 17.6 dB
    film = Plate(0.18, 0.12, 1e-9, ALUMINIUM, 0.012, 0.06)
    sheet = next(
        path
        for path in metal_effect(film, FREQUENCY_HZ, "above").paths
        if path.name == "through the sheet"
    )
    assert sheet.loss.value == pytest.approx(17.6, abs=0.1)


def test_ten_mm_outside_the_edge_nearly_all_of_the_loss_is_gone():
    inside, outside = loss_db(lid(depth_m=0.005)), loss_db(lid(depth_m=0.005, edge_m=-0.010))
    assert outside < inside / 5


def test_lit_side_gains_about_3_db_once_the_antenna_is_not_detuned():
    effect = metal_effect(lid(depth_m=0.030), FREQUENCY_HZ, "below")
    assert effect.total.value == pytest.approx(-3.0, abs=0.5)
    assert effect.dominant == "out of the open side"


@settings(deadline=None)
@given(sizes, ratios, depths)
def test_anywhere_is_a_mean_whose_scatter_reaches_both_sides(length_m, ratio, depth_m):
    above, below, anywhere = (
        metal_effect(lid(length_m, length_m * ratio, depth_m), FREQUENCY_HZ, toward)
        for toward in ("above", "below", "anywhere")
    )
    low, high = anywhere.total.band
    assert low <= anywhere.total.value <= high
    # a source matched to the free antenna cannot radiate more than it has
    assert low >= min(0.0, anywhere.total.value)
    least, most = (anywhere.total.value + end for end in anywhere.scatter.band)
    assert least < below.total.value
    assert most > above.total.value


def test_opening_in_a_lid_takes_the_slot_rule_as_its_best_case():
    effect = metal_effect(lid(openings=(Opening("slot", 0.02, 0.001),)), FREQUENCY_HZ, "above")
    slot = next(path for path in effect.paths if path.name == "through the openings")
    # 20 log10(122.87 / 40) = 9.75 and 27.3 x 1.5 / 20 x sqrt(1 - (40 / 122.87)^2) = 1.94
    assert slot.loss.band[0] == pytest.approx(9.75 + 1.94, abs=0.05)
    assert slot.loss.band[1] - slot.loss.band[0] == pytest.approx(30.0)
    assert effect.total.value < loss_db(lid())


def test_half_wave_opening_in_a_large_lid_is_named_as_the_path():
    plate = lid(0.4, 0.3, openings=(Opening("slot", 0.065, 0.002),))
    assert metal_effect(plate, FREQUENCY_HZ, "above").dominant == "through the openings"


def test_short_sheet_is_told_to_be_a_parasitic_element_and_a_wide_band_to_be_wide():
    effect = metal_effect(lid(0.051, 0.037, 0.004), FREQUENCY_HZ, "below")
    low, high = effect.total.band
    assert any("reflector or director" in caution for caution in effect.cautions)
    assert high - low > 8.0
    assert any(f"The band is {high - low:.0f} dB wide" in caution for caution in effect.cautions)
    ordinary = metal_effect(lid(), FREQUENCY_HZ, "below")
    assert not any("dB wide" in caution for caution in ordinary.cautions)


def test_a_sheet_much_shorter_than_the_antenna_does_nothing():
    # a straight wire of a tenth of a wavelength is far from resonance, and takes no current
    for toward in SIDES:
        total = metal_effect(lid(0.014, 0.010, 0.010), FREQUENCY_HZ, toward).total
        assert total.value == pytest.approx(0.0, abs=0.6)


@settings(deadline=None)
@given(sizes, ratios, depths, st.sampled_from(SIDES))
def test_a_turned_product_is_the_same_product(length_m, ratio, depth_m, toward):
    width_m = length_m * ratio
    at_m = (0.2 * length_m, 0.1 * width_m)
    edge_m = min(0.3 * length_m, 0.4 * width_m)
    here = replace(lid(length_m, width_m, depth_m, edge_m), antenna_at_m=at_m)
    turned = replace(
        here, length_m=width_m, width_m=length_m, along="width", antenna_at_m=(at_m[1], -at_m[0])
    )
    assert metal_effect(turned, FREQUENCY_HZ, toward).total.value == pytest.approx(
        metal_effect(here, FREQUENCY_HZ, toward).total.value
    )


def test_a_sheet_knows_where_its_antenna_moves():
    at_end = replace(lid(edge_m=0.020), antenna_at_m=(-0.070, 0.010))
    assert at_end.moved_to(-0.010).antenna_at_m == pytest.approx((-0.100, 0.010))
    beside = replace(lid(edge_m=0.020), antenna_at_m=(0.010, 0.040))
    assert beside.moved_to(-0.010).antenna_at_m == pytest.approx((0.010, 0.070))
    assert lid().moved_to(0.0).place_m == pytest.approx((0.0, 0.060))


@pytest.mark.parametrize(
    ("plate", "what"),
    [(lid(0.7, 0.4), "length"), (lid(depth_m=0.08), "depth"), (lid(skirt_m=0.04), "skirt")],
)
def test_outside_the_computed_range_a_caution_says_so(plate, what):
    cautions = metal_effect(plate, FREQUENCY_HZ, "above").cautions
    assert any(what in caution and "outside the computed" in caution for caution in cautions)


def test_cautions_name_the_model_the_measurement_and_the_lossy_antenna():
    text = " ".join(metal_effect(lid(depth_m=0.005), FREQUENCY_HZ, "above").cautions)
    for words in ("Closed forms", "another antenna", "with and without the metal", "13 dB"):
        assert words in text
    assert "yours is" not in text  # nobody told the closed forms which antenna it is


def test_the_loss_of_a_lossy_antenna_is_told_for_this_frequency_and_depth():
    # 14.06 mm at 868 MHz are as many wavelengths as 5 mm at 2.44 GHz, where finite differences give
    # 3.8 of 73 ohm: 10 log10(1 + 73 / 3.8) = 13.1 dB
    deep = metal_effect(lid(0.5, 0.34, 0.005 * 2.44e9 / 868e6, 0.17), 868e6, "above")
    text = " ".join(deep.cautions)
    assert "about 13 dB" in text
    assert "GHz" not in text
    # at 12 mm and 2.44 GHz 21 ohm are left: 10 log10(1 + 73 / 21) = 6.5 dB
    text = " ".join(metal_effect(lid(), FREQUENCY_HZ, "above").cautions)
    assert "about 6 dB" in text or "about 7 dB" in text


@pytest.mark.parametrize(
    ("plate", "words"),
    [
        (lid(edge_m=0.08), "nearest edge"),
        (lid(depth_m=0.0), "depth of the antenna"),
        (lid(openings=(Opening("slot", 0.3, 0.001),)), "an opening 300 mm long"),
    ],
)
def test_impossible_plate_is_refused(plate, words):
    with pytest.raises(InputError, match=words):
        metal_effect(plate, FREQUENCY_HZ, "above")


def test_box_without_openings_is_refused_with_a_way_out():
    with pytest.raises(MissingData) as caught:
        metal_effect(box(), FREQUENCY_HZ, "anywhere")
    assert "measure with the lid on and off" in str(caught.value)


def test_box_refuses_an_opening_longer_than_its_walls():
    with pytest.raises(InputError, match="an opening 250 mm long"):
        metal_effect(box(Opening("slot", 0.25, 0.001)), FREQUENCY_HZ, "anywhere")


@settings(deadline=None)
@given(st.floats(0.005, 0.015), st.floats(1.5, 2.0))
def test_small_opening_leaks_with_about_the_sixth_power_of_its_length(length_m, factor):
    # twice the length is 18 dB by the sixth power; approach to resonance and the slenderness of
    # the slot may add or take a few dB
    short = metal_effect(box(Opening("slot", length_m, 0.0005)), FREQUENCY_HZ, "anywhere")
    long = metal_effect(box(Opening("slot", length_m * factor, 0.0005)), FREQUENCY_HZ, "anywhere")
    depth_db = 27.3 * 0.001 / length_m * (1 - 1 / factor)
    gained = short.total.value - long.total.value - depth_db
    assert gained == pytest.approx(60.0 * math.log10(factor), abs=4.0)


def test_longest_opening_of_a_box_governs():
    long, short = Opening("slot", 0.06, 0.001), Opening("slot", 0.02, 0.001)
    assert loss_db(box(long, short), "anywhere") == pytest.approx(
        loss_db(box(long), "anywhere"), abs=0.1
    )


def test_box_says_that_its_quality_factor_is_not_known():
    effect = metal_effect(box(Opening("slot", 0.02, 0.001)), FREQUENCY_HZ, "above")
    low, high = effect.total.band
    assert any("quality factor of the box is not known" in caution for caution in effect.cautions)
    assert 15.0 < high - low < 30.0


def test_box_far_from_the_computed_one_carries_a_caution():
    effect = metal_effect(box(Opening("slot", 0.02, 0.001), length_m=0.6), FREQUENCY_HZ, "anywhere")
    assert any("order of magnitude" in caution for caution in effect.cautions)


@settings(deadline=None)
@given(st.floats(0.003, 0.12), st.integers(1, 100), st.sampled_from(SIDES))
def test_box_never_amplifies(length_m, count, toward):
    # webs as wide as the wall is thick leave room for so many in the lid
    most = int(0.201 * 0.121 / (length_m + 0.001) ** 2)
    opening = Opening("rectangle", length_m, length_m, max(1, min(count, most)))
    effect = metal_effect(box(opening), FREQUENCY_HZ, toward)
    assert 0.0 <= effect.total.band[0] <= effect.total.value <= effect.total.band[1]


@pytest.mark.parametrize(("measured", "kind"), [(True, "measured"), (False, "stated")])
def test_stated_attenuation_is_taken_as_it_is(measured, kind):
    for toward in SIDES:
        effect = metal_effect(StatedAttenuation(9.0, 3.0, measured), FREQUENCY_HZ, toward)
        assert effect.total.value == 9.0
        assert effect.total.band == (6.0, 12.0)
        assert effect.total.kind == kind
        assert effect.paths == ()
        assert effect.dominant == "as stated"


def test_negative_spread_is_refused():
    with pytest.raises(InputError, match="a spread of -1 dB"):
        metal_effect(StatedAttenuation(9.0, -1.0), FREQUENCY_HZ, "above")


@pytest.mark.parametrize("toward", SIDES)
def test_every_number_names_its_method(toward):
    effect = metal_effect(lid(openings=(Opening("round", 0.01, 0.01),)), FREQUENCY_HZ, toward)
    for quantity in (effect.total, effect.detuning, *(path.loss for path in effect.paths)):
        assert quantity.kind == "computed"
        assert quantity.unit == "dB"
        assert quantity.source


def test_every_band_has_a_source():
    for name, band in metal_bands().items():
        assert band.source.document, name
        assert band.low <= band.value <= band.high or band.low == band.high, name
