"""The answer to "does the metal cost the range?" in words, the same wherever it is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linkbudget.enclosure.measured import AS_MEASURED
from linkbudget.report import bounds, certainty
from linkbudget.report.wording import Wanted, amount, metres, number, sentence, upper_first

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
        Whose goal and room count.
    budget : LinkBudget
        Its budget at the wanted distance, without or with metal.
    """
    if bounds.is_beyond_belief(link, link.wanted_distance_m):
        return "beyond belief"
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
    if before == "beyond belief":
        return f"{upper_first(_law(link))} alone cannot say at {distance}"
    if found.with_metal is None:
        return f"No metal is described; {distance} {_ALONE[before]}"
    after = wanted(link, found.with_metal)
    if before == after == "reached":
        return f"No: {distance} still works, {_reach_changes(found)}"
    return _COMPARED[before, after].format(distance)


def _law(link: VariantLink) -> str:
    return link.room.name if link.room is not None else "the law of the room"


def _reach_changes(found: LinkComparison) -> str:
    if found.reach_with is None:
        return "and nothing is known of the reach"
    before, after = (amount(reach.distance) for _, reach, _ in found.cases)
    if before == after:
        return f"and the reach stays {before}"
    if found.reach_with.distance.value > found.reach_without.distance.value:
        return f"and the reach grows from {before} to {after}"
    return f"but the reach falls from {before} to {after}"


def range_sentences(link: VariantLink) -> tuple[str, ...]:
    """Say how far it reaches, how sure that is, what spreads it, and which way the signal goes."""
    found = link.comparison
    if found is None:
        return (sentence(link.absent_because or "The scenario describes no radio here"),)
    sentences = [
        _how_far(link, found),
        certainty.chance_sentence(link),
        _left_at(link, found.as_built[0]),
        *certainty.driver_sentences(link),
        certainty.delivery_sentence(link),
        *_belief_ends(link, found),
    ]
    if link.metal is not None and link.metal.paths:
        sentences.append(f"Most of what still gets through goes {link.metal.dominant}.")
    sentences += _method(link)
    return tuple(one for one in sentences if one)


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
    without = certainty.reach_words(found.reach_without.distance, link.room)
    room = f", by the law of the room ({link.room.name})" if link.room is not None else ""
    if found.reach_with is None or found.lost_db is None:
        return f"It reaches {without}{room}."
    lost_db = found.lost_db
    taken = f"the metal takes {amount(lost_db)}{_between(lost_db)} of signal"
    if lost_db.value < 0.0:
        taken = f"in this direction the metal adds {number(-lost_db.value)} dB"
    with_metal = certainty.reach_words(found.reach_with.distance, link.room)
    return f"It reaches {with_metal} with the metal and {without} without it{room}: {taken}."


def _between(lost_db: Quantity) -> str:
    if lost_db.low is None or lost_db.high is None:
        return ""
    return f" ({number(lost_db.low)} to {number(lost_db.high)})"


def _left_at(link: VariantLink, budget: LinkBudget) -> str:
    margin = budget.margin
    place = metres(link.wanted_distance_m)
    if abs(margin.value) < _PRINTS_AS_ZERO_DB:
        text = f"at {place} nothing is left and nothing is missing"
    elif margin.value > 0.0:
        text = f"at {place} it has {amount(margin)} to spare"
    else:
        text = f"to work at {place} it lacks {number(-margin.value)} {margin.unit}"
    alone = bounds.is_beyond_belief(link, link.wanted_distance_m)
    return sentence(f"{f'by {_law(link)} alone, ' if alone else ''}{text}{_spread(margin)}")


def _spread(margin: Quantity) -> str:
    """Return the band of a margin in the words of its sentence, both ends on the side they mean."""
    if margin.low is None or margin.high is None:
        return ""
    low, high = number(abs(margin.low)), number(abs(margin.high))
    if margin.low < 0.0 < margin.high:
        return f" (from {low} lacking to {high} to spare)"
    return f" ({low} to {high})"


def _belief_ends(link: VariantLink, found: LinkComparison) -> tuple[str, ...]:
    """Say where the law of the room ends to be believed, if anything told here lies beyond."""
    furthest_m = max(link.wanted_distance_m, *(reach.distance.value for _, reach, _ in found.cases))
    if link.room is None or not bounds.is_beyond_belief(link, furthest_m):
        return ()
    return (link.room.beyond_belief,)
