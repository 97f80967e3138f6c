"""Propagation: values that someone outside this project printed, or that the trade recalls."""

import pytest

from linkbudget.physics.dielectrics import building_material
from linkbudget.physics.diffraction import knife_edge_exact_loss_db, knife_edge_loss_db
from linkbudget.physics.exponent import exponent_loss_db
from linkbudget.physics.ground import OverGround, two_ray_far_loss_db, two_ray_loss_db
from linkbudget.physics.indoor import (
    indoor_power_law,
    indoor_power_law_loss_db,
    indoor_site_general,
    indoor_site_general_loss_db,
)


@pytest.mark.published(
    source="ITU-R P.1238, up to P.1238-10 (in the source text of a network simulator)",
    where="power loss coefficients and floor loss, 1.8 to 2 GHz",
)
@pytest.mark.parametrize(
    ("environment", "per_decade", "floors"),
    [
        ("residential", "28", ("4", "8", "12")),
        ("house", "28", ("4", "8", "12")),
        ("office", "30", ("15", "19", "23")),
        ("commercial", "22", ("6", "9", "12")),
    ],
)
def test_indoor_power_law_at_2_ghz(environment, per_decade, floors, printed):
    near_db, _ = indoor_power_law_loss_db(2e9, 1.0, environment)
    assert indoor_power_law_loss_db(2e9, 10.0, environment)[0] - near_db == printed(per_decade)
    for count, floor_db in enumerate(floors, start=1):
        through_db, _ = indoor_power_law_loss_db(2e9, 1.0, environment, count)
        assert through_db - near_db == printed(floor_db)


@pytest.mark.published(
    source="ITU-R P.1238, P.1238-8 to P.1238-10", where="2.4 and 5.2 GHz", from_memory=True
)
@pytest.mark.parametrize(
    ("environment", "frequency_hz", "per_decade", "floor"),
    [
        ("office", 2.4e9, "30", "14"),
        ("residential", 2.4e9, "28", "10"),
        ("house", 2.4e9, "28", "5"),
        ("office", 5.2e9, "31", "16"),
        ("residential", 5.2e9, "30", "13"),
        ("house", 5.2e9, "28", "7"),
    ],
)
def test_indoor_power_law_of_the_license_free_bands(
    environment, frequency_hz, per_decade, floor, printed
):
    law = indoor_power_law(environment, frequency_hz)
    assert law.coefficient == printed(per_decade)
    assert law.floor_losses_db[0] == printed(floor)


@pytest.mark.published(
    source="ITU-R P.1238, P.1238-8 to P.1238-10", where="office at 900 MHz", from_memory=True
)
def test_indoor_power_law_at_900_mhz(printed):
    law = indoor_power_law("office", 915e6)
    assert law.coefficient == printed("33")
    assert list(law.floor_losses_db) == [printed("9"), printed("19"), printed("24")]


@pytest.mark.published(
    source="ITU-R P.1238, P.1238-8 to P.1238-10", where="shadow fading", from_memory=True
)
@pytest.mark.parametrize(
    ("environment", "frequency_hz", "deviation"),
    [
        ("residential", 1.9e9, "8"),
        ("office", 1.9e9, "10"),
        ("commercial", 1.9e9, "10"),
        ("office", 5.2e9, "12"),
    ],
)
def test_indoor_shadow_fading(environment, frequency_hz, deviation, printed):
    assert indoor_power_law_loss_db(frequency_hz, 10.0, environment)[1] == printed(deviation)


@pytest.mark.published(
    source="ITU-R P.1238, worked by hand",
    where="L = 20 log10(f) + N log10(d) + Lf(n) - 28, office, 2.4 GHz, 20 m, one floor",
    from_memory=True,
)
def test_indoor_power_law_worked_by_hand(printed):
    # 67.604 + 30 x 1.30103 + 14 - 28
    assert indoor_power_law_loss_db(2.4e9, 20.0, "office", 1)[0] == printed("92.64")


# alpha, beta, gamma, sigma of the table; loss at 10 m and 1 GHz is 10 alpha + beta, and at
# 10 m and 10 GHz 10 gamma more; added by hand
_SITE_GENERAL = [
    ("office", "line of sight", "49.22", "20.3", "3.76"),
    ("office", "no line of sight", "54.13", "23.8", "5.04"),
    ("corridor", "line of sight", "44.42", "22.5", "4.07"),
    ("corridor", "no line of sight", "56.97", "24.8", "7.63"),
    ("industrial", "line of sight", "47.62", "20.6", "2.69"),
    ("industrial", "no line of sight", "58.91", "13.4", "9.05"),
]


@pytest.mark.published(source="ITU-R P.1238-11", where="site-general form, Table 2",
                       from_memory=True)  # fmt: skip
@pytest.mark.parametrize(("environment", "sight", "loss", "step", "deviation"), _SITE_GENERAL)
def test_indoor_site_general(environment, sight, loss, step, deviation, printed):
    at_1_ghz, spread_db = indoor_site_general_loss_db(1e9, 10.0, environment, sight)
    at_10_ghz, _ = indoor_site_general_loss_db(10e9, 10.0, environment, sight)
    assert at_1_ghz == printed(loss)
    assert at_10_ghz - at_1_ghz == printed(step)
    assert spread_db == printed(deviation)


@pytest.mark.published(source="ITU-R P.1238-11", where="ranges of Table 2", from_memory=True)
@pytest.mark.parametrize(
    ("environment", "sight", "ghz", "metres"),
    [
        ("office", "line of sight", ("0.3", "83.5"), ("2", "27")),
        ("office", "no line of sight", ("0.3", "82"), ("4", "30")),
        ("corridor", "line of sight", ("0.3", "83.5"), ("2", "160")),
        ("corridor", "no line of sight", ("0.625", "83.5"), ("4", "94")),
        ("industrial", "line of sight", ("0.625", "70.28"), ("2", "101")),
        ("industrial", "no line of sight", ("0.625", "70.28"), ("5", "108")),
    ],
)
def test_ranges_of_the_site_general_form(environment, sight, ghz, metres, printed):
    row = indoor_site_general(environment, sight)
    assert [row.low_hz / 1e9, row.high_hz / 1e9] == [printed(text) for text in ghz]
    assert [row.low_m, row.high_m] == [printed(text) for text in metres]


@pytest.mark.published(
    source="ITU-R P.526",
    where="J(v) = 6.9 + 20 log10(sqrt((v - 0.1)^2 + 1) + v - 0.1)",
    from_memory=True,
)
@pytest.mark.parametrize(
    ("parameter", "loss"),
    [(-0.78, "0.00"), (0.0, "6.03"), (1.0, "13.93"), (2.0, "19.04"), (2.4, "20.54")],
)
def test_knife_edge_approximation(parameter, loss, printed):
    assert knife_edge_loss_db(parameter) == printed(loss)


@pytest.mark.published(source="Fresnel integrals", where="J(v) of a knife edge", from_memory=True)
@pytest.mark.parametrize(
    ("parameter", "loss"), [(0.0, "6.02"), (1.0, "13.86"), (2.0, "19.09"), (2.4, "20.62")]
)
def test_knife_edge_by_fresnel_integrals(parameter, loss, printed):
    assert knife_edge_exact_loss_db(parameter) == printed(loss)


@pytest.mark.published(
    source="radio link texts", where="knife edge at grazing incidence", from_memory=True,
    practice=True,
)  # fmt: skip
def test_an_edge_that_touches_the_path_costs_6_db(printed):
    assert knife_edge_exact_loss_db(0.0) == printed("6")


@pytest.mark.published(
    source="ITU-R P.2040-2 (in the documentation of a rendering library)",
    where="Table 3, a and c: permittivity and conductivity at 1 GHz",
)
@pytest.mark.parametrize(
    ("name", "permittivity", "conductivity"),
    [
        ("concrete", "5.24", "0.0462"),
        ("brick", "3.91", "0.0238"),
        ("plasterboard", "2.73", "0.0085"),
        ("wood", "1.99", "0.0047"),
        ("glass", "6.31", "0.0036"),
    ],
)
def test_building_materials_at_1_ghz(name, permittivity, conductivity, printed):
    material = building_material(name).at(1e9)
    assert material.relative_permittivity == printed(permittivity)
    assert material.conductivity_s_per_m == printed(conductivity)


@pytest.mark.published(
    source="ITU-R P.2040-2, worked by hand",
    where="conductivity c f^d and permittivity a f^b at 2.4 GHz",
    from_memory=True,
)
@pytest.mark.parametrize(
    ("name", "permittivity", "conductivity"),
    [
        # ln 2.4 = 0.87547; 0.0462 exp(0.7822 x 0.87547), and so on
        ("concrete", "5.24", "0.0916"),
        ("brick", "3.91", "0.0274"),
        ("plasterboard", "2.73", "0.0193"),
        ("wood", "1.99", "0.0120"),
        ("glass", "6.31", "0.0116"),
        ("medium dry ground", "13.74", "0.146"),
    ],
)
def test_building_materials_at_2_4_ghz(name, permittivity, conductivity, printed):
    material = building_material(name).at(2.4e9)
    assert material.relative_permittivity == printed(permittivity)
    assert material.conductivity_s_per_m == printed(conductivity)


@pytest.mark.published(
    source="mobile radio texts", where="plane earth: 12 dB for twice the distance",
    from_memory=True, practice=True,
)  # fmt: skip
def test_plane_earth_costs_12_db_for_twice_the_distance(printed):
    near_db = two_ray_far_loss_db(2.44e9, 400.0, 2.0, 2.0)
    assert two_ray_far_loss_db(2.44e9, 800.0, 2.0, 2.0) - near_db == printed("12")
    soil = building_material("medium dry ground").at(2.44e9)
    over = OverGround(2.0, 2.0, soil, "vertical")
    near_db = two_ray_loss_db(2.44e9, 4000.0, over)
    assert two_ray_loss_db(2.44e9, 8000.0, over) - near_db == printed("12")


@pytest.mark.published(
    source="radio link texts", where="exponent 3 at 2.4 GHz: 70 dB at 10 m", from_memory=True,
    practice=True,
)  # fmt: skip
def test_exponent_of_three_indoors(printed):
    assert exponent_loss_db(2.4e9, 10.0, 3.0) == printed("70")
