"""The answer to "does the metal cost the range?" in words, the same wherever it is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linkbudget.enclosure.measured import AS_MEASURED
from linkbudget.report import bounds
from linkbudget.report.wording import Wanted, amount, metres, number, sentence

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.link.budget import LinkBudget
    from linkbudget.link.reach import LinkComparison
    from linkbudget.results import VariantLink

RANGE_QUESTION = "Does the metal cost the range?"
_NO_RADIO = ("", "none")
_PRINTS_AS_ZERO_DB = 0.05
_ALONE: dict[Wanted, str] = {
    "reached": "works",
    "too close to call": "is too close to call",
    "missed": "is out of reach",
}
# without metal, with metal: what the two together say of the metal
_COMPARED: dict[tuple[Wanted, Wanted], str] = {
    ("reached", "too close to call"): (
        "Perhaps: {} works without the metal and is too close to call with it"
    ),
    ("reached", "missed"): "Yes: the metal costs the {} that you want",
    ("too close to call", "reached"): (
        "No: {} works with the metal and is too close to call without it"
    ),
    ("too close to call", "too close to call"): (
        "Too close to call at {}, with the metal and without it"
    ),
    ("too close to call", "missed"): (
        "Not the metal alone: {} is too close to call without it and out of reach with it"
    ),
    ("missed", "reached"): "No: {} works with the metal and is out of reach without it",
    ("missed", "too close to call"): (
        "No: {} is out of reach without the metal and too close to call with it"
    ),
    ("missed", "missed"): "Not the metal: {} is out of reach without it and with it",
}


def wanted(link: VariantLink, budget: LinkBudget) -> Wanted:
    """Say whether the wanted distance is reached, by the band of the margin there.

    Parameters
    ----------
    link : VariantLink
        Whose goal and limits count.
    budget : LinkBudget
        Its budget at the wanted distance, without or with metal.
    """
    if bounds.is_beyond_free_space(link, link.wanted_distance_m):
        return "beyond free space"
    low, high = budget.margin.band
    if low >= 0.0:
        return "reached"
    return "missed" if high < 0.0 else "too close to call"


def is_refused(link: VariantLink) -> bool:
    """Return whether there is a radio, but no answer that could be given honestly."""
    return link.comparison is None and link.radio not in _NO_RADIO


def range_headline(link: VariantLink) -> str:
    """Answer "does the metal cost the range?" in one line."""
    found = link.comparison
    if found is None:
        refused = "Refused: this link cannot be judged as it stands"
        return refused if is_refused(link) else "No radio link to judge"
    distance = metres(link.wanted_distance_m)
    before = wanted(link, found.without)
    if before == "beyond free space":
        return f"Free space alone cannot say at {distance}"
    if found.with_metal is None:
        return f"No metal is described; {distance} {_ALONE[before]}"
    after = wanted(link, found.with_metal)
    if before == after == "reached":
        return f"No: {distance} still works, {_reach_changes(link, found)}"
    return _COMPARED[before, after].format(distance)


def _reach_changes(link: VariantLink, found: LinkComparison) -> str:
    if found.reach_with is None:
        return "and nothing is known of the reach"
    before = amount(bounds.reach(link, found.reach_without.distance))
    after = amount(bounds.reach(link, found.reach_with.distance))
    if before == after:
        return f"and the reach stays {before}"
    if found.reach_with.distance.value > found.reach_without.distance.value:
        return f"and the reach grows from {before} to {after}"
    return f"but the reach falls from {before} to {after}"


def range_sentences(link: VariantLink) -> tuple[str, ...]:
    """Say how far it reaches, what the metal takes, what is left, and which way the signal goes."""
    found = link.comparison
    if found is None:
        return (sentence(link.absent_because or "The scenario describes no radio here"),)
    sentences = [
        _how_far(link, found),
        _left_at(link, found.with_metal or found.without),
        *_free_space_ends(link, found),
    ]
    if link.metal is not None and link.metal.paths:
        sentences.append(f"Most of what still gets through goes {link.metal.dominant}.")
    sentences += _method(link)
    return tuple(sentences)


def _method(link: VariantLink) -> tuple[str, ...]:
    """Name the method behind the metal's figures; nothing where the user stated them."""
    metal, measured = link.metal, link.measured
    if metal is None:
        return ()
    if metal.dominant == AS_MEASURED:
        return ("What the metal takes was measured.",)
    if not metal.paths:
        return ()
    method = (
        "computed by a field solver" if link.fields is not None else "estimated by closed forms"
    )
    if measured is not None and measured.detuning is not None:
        return (f"The mismatch was measured, the rest of what the metal takes was {method}.",)
    return (f"What the metal takes was {method}.",)


def _how_far(link: VariantLink, found: LinkComparison) -> str:
    def about(distance: Quantity) -> str:
        text = amount(bounds.reach(link, distance))
        return text if text.startswith(bounds.AT_MOST) else f"about {text}"

    without = about(found.reach_without.distance)
    if found.reach_with is None or found.lost_db is None:
        return f"It reaches {without}."
    lost_db = found.lost_db
    taken = f"the metal takes {amount(lost_db)} of signal"
    if lost_db.value < 0.0:
        taken = f"in this direction the metal adds {number(-lost_db.value)} dB"
    with_metal = about(found.reach_with.distance)
    return f"It reaches {with_metal} with the metal and {without} without it: {taken}."


def _left_at(link: VariantLink, budget: LinkBudget) -> str:
    margin = budget.margin
    place = metres(link.wanted_distance_m)
    if link.reliability:
        place += f" in {link.reliability * 100.0:.4g} % of cases"
    alone = bounds.is_beyond_free_space(link, link.wanted_distance_m)
    if abs(margin.value) < _PRINTS_AS_ZERO_DB:
        text = f"at {place} nothing is left and nothing is missing"
    elif margin.value > 0.0:
        text = f"at {place} it has {amount(margin)} to spare"
    else:
        text = f"to work at {place} it lacks {number(-margin.value)} {margin.unit}"
    return sentence(f"{'by free space alone, ' if alone else ''}{text}{_spread(margin)}")


def _spread(margin: Quantity) -> str:
    """Return the band of a margin in the words of its sentence, both ends on the side they mean."""
    if margin.low is None or margin.high is None:
        return ""
    low, high = number(abs(margin.low)), number(abs(margin.high))
    if margin.low < 0.0 < margin.high:
        return f" (from {low} lacking to {high} to spare)"
    return f" ({low} to {high})"


def _free_space_ends(link: VariantLink, found: LinkComparison) -> tuple[str, ...]:
    """Say where free space alone ends, if anything told here lies further out."""
    reaches = [one.distance.value for one in (found.reach_without, found.reach_with) if one]
    furthest_m = max(link.wanted_distance_m, *reaches)
    if not bounds.is_beyond_free_space(link, furthest_m):
        return ()
    return (
        f"Over open ground the level falls faster from about {metres(link.free_space_to_m)} on,"
        " where free space alone no longer holds.",
    )
