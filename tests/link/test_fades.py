"""The fade allowance of all six models, at one value and over a spread of values."""

import math
from typing import get_args

import numpy as np
import pytest
from scipy import integrate, stats

from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.fades import FadeLaw, FadingModel
from linkbudget.physics.shadowed_fading import shadowed_margin_db


def spread(value, low=None, high=None):
    return Quantity(value, "dB", "stated", low, high)


def law(model, reliability=0.99, rice_factor=None, sigma=None):
    return FadeLaw(model, reliability, "places", rice_factor, sigma)


def works(model, margin_db, k_db, sigma_db):
    """Share of places in which the level is high enough, by scipy alone."""
    k = 10.0 ** (k_db / 10.0)

    def fast(at_db):
        share = 10.0 ** (-at_db / 10.0)
        if model.startswith("rayleigh"):
            return math.exp(-share)
        if model.startswith("rice"):
            return stats.ncx2.sf(2.0 * (k + 1.0) * share, 2, 2.0 * k)
        return float(at_db >= 0.0)

    if model == "log-normal":
        return stats.norm.cdf(margin_db / sigma_db)
    if not model.endswith("log-normal"):
        return fast(margin_db)
    found, _ = integrate.quad(
        lambda z: stats.norm.pdf(z) * fast(margin_db + sigma_db * z), -8.0, 8.0, limit=200
    )
    return found


@pytest.mark.parametrize("reliability", [0.9, 0.99, 0.999])
@pytest.mark.parametrize("model", [each for each in get_args(FadingModel) if each != "none"])
def test_at_the_allowance_the_wanted_share_works(model, reliability):
    found = law(model, reliability, spread(6.0), spread(5.0)).allowance
    assert found.low is None
    assert works(model, found.value, 6.0, 5.0) == pytest.approx(reliability, abs=1e-7)


def test_without_fading_nothing_is_taken():
    assert law("none").allowance.value == 0.0
    assert law("none").allowance.source == "no fading"
    assert law("none").allowance_db({}) == 0.0
    assert law("none").quantities() == {}


@pytest.mark.parametrize(
    ("model", "names"),
    [
        ("rayleigh", set()),
        ("rice", {"Rice factor"}),
        ("log-normal", {"spread of shadowing"}),
        ("rayleigh and log-normal", {"spread of shadowing"}),
        ("rice and log-normal", {"Rice factor", "spread of shadowing"}),
    ],
)
def test_only_what_the_model_rests_on_is_drawn(model, names):
    assert set(law(model, 0.99, spread(6.0), spread(5.0)).quantities()) == names


def test_the_band_is_that_of_the_corners():
    # z(0.99) = 2.3263: 3, 5 and 8 dB
    found = law("log-normal", sigma=spread(5.0, 3.0, 8.0)).allowance
    assert (found.value, *found.band) == pytest.approx((11.632, 6.979, 18.611), abs=0.001)
    assert found.source == "log-normal fading, 0.99 of places, relative to the median level"


def test_a_factor_beyond_the_formula_is_refused():
    with pytest.raises(OutOfRange, match="state no fading"):
        _ = law("rice", rice_factor=spread(20.0, 10.0, 31.0)).allowance
    with pytest.raises(OutOfRange, match="standard deviation"):
        _ = law("log-normal", sigma=spread(1.0, -1.0, 3.0)).allowance


@pytest.mark.parametrize(
    ("model", "k", "sigma", "within_db"),
    [
        ("rice", (6.0, 0.0, 12.0), None, 0.1),
        ("log-normal", None, (5.0, 3.0, 7.0), 1e-6),
        ("rayleigh and log-normal", None, (5.0, 2.0, 8.0), 0.1),
        ("rice and log-normal", (6.0, 0.0, 12.0), (5.0, 3.0, 7.0), 0.1),
        ("rice and log-normal", (10.0, 8.0, 12.0), (4.0, 4.0, 4.0), 0.02),
    ],
)
def test_the_table_is_near_the_formula(model, k, sigma, within_db):
    def drawn(band):
        if band is None or band[1] == band[2]:
            return None
        half = (band[2] - band[1]) / 2.0
        return np.random.default_rng(3).uniform(band[0] - 1.5 * half, band[0] + 1.5 * half, 150)

    fade = law(model, 0.99, k and spread(*k), sigma and spread(*sigma))
    ks, sigmas = drawn(k), drawn(sigma)
    given = {"Rice factor": ks, "spread of shadowing": sigmas}
    found_db = fade.allowance_db({name: each for name, each in given.items() if each is not None})
    direct_db = [
        max(0.0, shadowed_margin_db(0.99, float(k_db), float(sigma_db)))
        for k_db, sigma_db in np.broadcast(
            fade.typical_k_db if ks is None else ks,
            fade.typical_sigma_db if sigmas is None else sigmas,
        )
    ]
    assert found_db.shape == (150,)
    assert found_db == pytest.approx(direct_db, abs=within_db)


def test_beyond_the_table_its_ends_hold():
    fade = law("log-normal", sigma=spread(5.0, 4.0, 6.0))
    # four standard deviations of 0.51 dB beyond 5 dB hold 99.99 %: 3.015 and 6.985 dB
    found_db = fade.allowance_db({"spread of shadowing": np.array([-50.0, 50.0])})
    ends = 2.3263 * (5.0 + np.array([-1.0, 1.0]) * 3.8906 / 1.95996)
    assert found_db == pytest.approx(ends, abs=0.001)
