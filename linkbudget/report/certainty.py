"""How sure the answer is, in words: the reach with its interval, the chance, what matters most."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from linkbudget.link.delivery import LONGEST_S
from linkbudget.link.drivers import unstated
from linkbudget.report.bounds import AT_LEAST, AT_MOST, at_end, is_beyond_belief
from linkbudget.report.wording import (
    amount,
    band,
    between,
    metres,
    number,
    sentence,
    upper_first,
)

if TYPE_CHECKING:
    from linkbudget.core.quantity import Kind, Quantity
    from linkbudget.core.uncertainty import Estimate
    from linkbudget.link.drivers import Driver
    from linkbudget.link.fades import Share
    from linkbudget.link.rooms import Room
    from linkbudget.results import VariantLink

_CASES: dict[Share, str] = {
    "time": "of the time",
    "places": "of places",
    "time or places": "of the time or of places",
}
_END_TO_END = 2.0 * 1.96  # standard deviations over a 95 % interval
_UNSAID: dict[Kind, str] = {"assumed": "which nobody stated", "typical": "a typical value"}
_SPOKEN = {
    "antenna gain (product)": "the gain of the product's antenna",
    "antenna gain (far end)": "the gain of the far antenna",
    "mismatch loss (product)": "the mismatch of the product's antenna",
    "mismatch loss (far end)": "the mismatch of the far antenna",
    "polarisation loss": "how the antennas are turned to each other",
    "body loss": "the loss by hand and body",
    "room: how well its law fits": "how well the law of the room fits",
    "room: loss per decade of distance": "how fast the level falls in this room",
    "metal: at the antenna's port": "what the metal takes at the antenna's port",
    "metal: toward the far end": "what the metal takes toward the far end",
}


def spoken(name: str) -> str:
    """Name an input of the forecast in a sentence.

    Examples
    --------
    >>> spoken("body loss"), spoken("sensitivity")
    ('the loss by hand and body', 'the sensitivity')
    """
    return _SPOKEN.get(name, f"the {name}")


def chance(share: float, digits: int = 0) -> str:
    """Print a chance in percent, never as certain.

    Examples
    --------
    >>> chance(0.312), chance(0.9996), chance(0.0), chance(0.9871, 1)
    ('31 %', 'over 99 %', 'under 1 %', '98.7 %')
    """
    last = 10.0**-digits
    in_percent = 100.0 * share
    if in_percent > 100.0 - last:
        return f"over {number(100.0 - last, digits)} %"
    if in_percent < last:
        return f"under {number(last, digits)} %"
    return f"{number(in_percent, digits)} %"


def reach_words(distance: Quantity, room: Room | None = None) -> str:
    """Print a reach with its 95 % interval, whose ends are open where the law of the room ends.

    Examples
    --------
    >>> from linkbudget.core.quantity import Quantity
    >>> reach_words(Quantity(12.0, "m", "computed", 8.0, 17.0))
    '12 m (8.0 m to 17 m)'
    >>> reach_words(Quantity(1000.0, "m", "computed", 400.0, 1000.0, coverage="at least"))
    'at least 1.0 km (at worst 400 m)'
    """
    told = amount(distance)
    if distance.low is None or distance.high is None:
        return told
    low, high = ends_of_reach(room, distance)
    if distance.coverage == AT_LEAST:
        return f"{told} (at worst {low})"
    if distance.coverage == AT_MOST and told == f"{AT_MOST} {metres(distance.low)}":
        return f"{told} (at best {high})"
    return f"{told} ({low} to {high})"


def ends_of_reach(room: Room | None, distance: Quantity) -> tuple[str, str]:
    """Print both ends of the band of a reach; an end that is a bound only says so.

    Parameters
    ----------
    room : Room or None
        Whose law led to it.
    distance : Quantity
        The reach, with its band [m].
    """
    low, high = (_end(room, end_m) for end_m in distance.band)
    return low, high


def _end(room: Room | None, distance_m: float) -> str:
    bound = at_end(room, distance_m)
    if not bound and room is not None and distance_m > room.believed_to_m:
        bound = AT_MOST
    return f"{bound} {metres(distance_m)}".lstrip()


def band_of_reach(room: Room | None, quantity: Quantity) -> str:
    """Print the band of a reach, open ends said to be open; any other quantity as ever.

    Examples
    --------
    >>> from linkbudget.core.quantity import Quantity
    >>> from linkbudget.link.laws import indoor
    >>> office = indoor(2.44e9, "office", "line of sight")
    >>> band_of_reach(office, Quantity(12.0, "m", "computed", 2.0, 27.0))
    'under 2.0 to over 27 m'
    """
    if quantity.unit != "m" or quantity.low is None or quantity.high is None:
        return band(quantity)
    return between(*ends_of_reach(room, quantity))


def wanted_share(link: VariantLink) -> str:
    """Say what the reliability is a share of: "99 % of places"."""
    cases = _CASES[link.fading.share if link.fading is not None else "time or places"]
    return f"{link.reliability * 100.0:.4g} % {cases}"


def leading(link: VariantLink) -> str:
    """Return how far it reaches and what matters most, in one line; "" without a link.

    An input matters more than the metal where the margin moves further over its 95 % interval than
    the metal typically moves it, and further than over that of the metal.
    """
    found = link.comparison
    if found is None:
        return ""
    _, reach, _ = found.as_built
    told = (
        f"{upper_first(reach_words(reach.distance, link.room))} at {link.reliability * 100.0:.4g} %"
    )
    of_metal = _of_metal(link)
    others = [one for one in _ranked(link) if one.name not in of_metal]
    if not others:
        return told
    first = others[0]
    most = spoken(first.name)
    if found.lost_db is None:
        return f"{told}; of what is not known, {most} matters most"
    doubt_db = math.hypot(*(_moved_db(one) for one in _ranked(link) if one.name in of_metal))
    if _moved_db(first) <= max(abs(found.lost_db.value), doubt_db):
        return f"{told}, and the metal matters more than {most}"
    unsaid = f", {_UNSAID[first.kind]}," if first.kind in _UNSAID else ""
    return f"{told}, and {most}{unsaid} matters more than the metal"


def _moved_db(driver: Driver) -> float:
    """Return how far an input moves the margin over its 95 % interval [dB]."""
    whole = driver.spread_if_known + driver.fall
    return _END_TO_END * math.sqrt(max(0.0, whole**2 - driver.spread_if_known**2))


def _ranked(link: VariantLink) -> list[Driver]:
    """Return what spreads the margin of the link as it is built, strongest first."""
    if link.comparison is None:
        return []
    return [one for one in link.comparison.as_built[2].drivers if one.share > 0.0]


def _of_metal(link: VariantLink) -> set[str]:
    found = link.comparison
    if found is None or found.forecast_with is None:
        return set()
    return set(found.forecast_with.known) - set(found.forecast_without.known)


def chance_sentence(link: VariantLink) -> str:
    """Say how likely the wanted distance works as reliably as wanted; "" without a link."""
    found = link.comparison
    if found is None:
        return ""
    told = f"{metres(link.wanted_distance_m)} works in {wanted_share(link)} with a chance of"
    if link.room is not None and is_beyond_belief(link, link.wanted_distance_m):
        told = f"By {link.room.name} alone, {told}"
    without = chance(found.forecast_without.chance.value)
    if found.forecast_with is None:
        return f"{told} {without}."
    return f"{told} {chance(found.forecast_with.chance.value)}, and of {without} without the metal."


def driver_sentences(link: VariantLink) -> tuple[str, ...]:
    """Say which input drives the spread, and which one does that nobody stated."""
    ranked = _ranked(link)
    if not ranked:
        return ()
    first = ranked[0]
    kind = _UNSAID.get(first.kind, first.kind)
    now = first.spread_if_known + first.fall
    told = [
        f"{upper_first(spoken(first.name))} ({kind}) makes {100.0 * first.share:.0f} % of the"
        f" spread: known exactly, {number(first.spread_if_known)} dB of {number(now)} dB would"
        " remain."
    ]
    silent = unstated(ranked)
    if silent and silent[0] is not first:
        second = silent[0]
        told.append(
            f"Of what nobody stated, {spoken(second.name)} drives it most"
            f" ({100.0 * second.share:.0f} %)."
        )
    return tuple(told)


def delivery_sentence(link: VariantLink) -> str:
    """Say how many reports arrive in time; "" where no latency is stated."""
    found = link.delivery
    if found is None:
        return ""
    low, high = (chance(end.value, 1) for end in found.chance.intervals[-1])
    told = (
        f"{chance(found.chance.median.value, 1)} of reports ({low} to {high}) arrive within"
        f" {milliseconds(found.latency_s)} ({tries(found.tries)})"
    )
    return sentence(f"{told}; {needed(link)}")


def needed(link: VariantLink) -> str:
    """Say within which latency 99 % of the reports arrive; "" where no latency is stated."""
    found = link.delivery
    if found is None:
        return ""
    if not math.isfinite(found.needed_s):
        return f"99 % do not arrive within {milliseconds(LONGEST_S)} either"
    return f"99 % arrive within {milliseconds(found.needed_s)}"


def tries(count: int) -> str:
    """Print how many tries there are."""
    return f"{count} {'try' if count == 1 else 'tries'}"


def milliseconds(time_s: float) -> str:
    """Print a short time.

    Examples
    --------
    >>> milliseconds(0.03), milliseconds(0.0075), milliseconds(1.2)
    ('30 ms', '7.5 ms', '1.2 s')
    """
    return f"{time_s:.3g} s" if time_s >= 1.0 else f"{1000.0 * time_s:.3g} ms"


def sampled(figure: Estimate, unit: str) -> str:
    """Print how far chance may have moved a figure, as one standard deviation."""
    if not math.isfinite(figure.standard_error):
        return "not known"
    if unit == "1":
        return f"{number(100.0 * figure.standard_error, 2)} %"
    return f"{figure.standard_error:.2g} {unit.replace('dBm', 'dB')}"
