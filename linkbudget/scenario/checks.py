"""Mistakes that only show when two fields are held against each other, or a file is looked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from linkbudget.core.decibels import db_from_power_ratio
from linkbudget.core.units import format_frequency, format_length
from linkbudget.physics.plastics import FURTHEST
from linkbudget.physics.propagation import wavelength_m
from linkbudget.scenario.allowed_checks import allowed_mistakes
from linkbudget.scenario.fields import choice_of, shown
from linkbudget.scenario.file_checks import file_mistakes
from linkbudget.scenario.lines import KeyPath
from linkbudget.scenario.link_models import Antenna, Radio
from linkbudget.scenario.metal_checks import metal_mistakes
from linkbudget.scenario.mistakes import Mistake
from linkbudget.scenario.models import NO_RADIO, Correction, Plastic, Scan, Scenario
from linkbudget.scenario.room_checks import goal_mistakes, room_mistakes


def mistakes_between_fields(scenario: Scenario) -> tuple[Mistake, ...]:
    """Return every contradiction in a scenario whose single fields are right."""
    return tuple(one for check in _CHECKS for one in check(scenario))


def _product(scenario: Scenario) -> Iterator[Mistake]:
    product = scenario.product
    at = ("product", "mains_adapter")
    if product.mains == "adapter" and product.mains_adapter is None:
        yield Mistake(
            at,
            'mains = "adapter" without an adapter',
            'the adapter by name, such as mains_adapter = "24 V 60 W desktop adapter"',
            "It is measured together with the product, so the report has to name it.",
        )
    if product.mains != "adapter" and product.mains_adapter is not None:
        yield Mistake(
            at, f'an adapter and mains = "{product.mains}"', 'mains = "adapter", or no adapter'
        )


def _variants(scenario: Scenario) -> Iterator[Mistake]:
    names = [variant.name for variant in scenario.variants]
    yield from _doubles(names, "variants", "name")
    if NO_RADIO in scenario.radios:
        yield Mistake(
            ("radios", NO_RADIO),
            f'a radio with the key "{NO_RADIO}"',
            "another key",
            "This word says that a variant has no radio.",
        )
    for index, variant in enumerate(scenario.variants):
        if variant.radio != NO_RADIO and variant.radio not in scenario.radios:
            expected, mend = choice_of(variant.radio, (*scenario.radios, NO_RADIO), "a radio")
            mend = mend or f"Describe it in a table [radios.{variant.radio}]."
            yield Mistake(("variants", index, "radio"), shown(variant.radio), expected, mend)


def _link(scenario: Scenario) -> Iterator[Mistake]:
    wireless = next((v.name for v in scenario.variants if v.radio != NO_RADIO), None)
    if wireless is not None:
        needed = {"antenna": "the product's antenna", "far_end": "the other end of the link"}
        needed["goal"] = "the distance and reliability wanted"
        for table, meaning in needed.items():
            if getattr(scenario, table) is None:
                yield Mistake(
                    (table,),
                    f"no table [{table}], though variant {shown(wireless)} has a radio",
                    f"[{table}]: {meaning}",
                )


def _radios(scenario: Scenario) -> Iterator[Mistake]:
    for key, radio in scenario.radios.items():
        at: KeyPath = ("radios", key)
        if not key.isprintable() or not key.strip():
            yield Mistake(at, f"the key {shown(key)}", "a key of letters and digits")
        yield from _bands(radio, at)
        yield from _receiver(radio, at)
        if radio.modulation == "frequency hopping" and radio.hopping is False:
            yield Mistake(
                (*at, "hopping"),
                'modulation = "frequency hopping" and hopping = false',
                "hopping = true, or another modulation",
            )


def _bands(radio: Radio, at: KeyPath) -> Iterator[Mistake]:
    low, high = radio.band
    if low > high:
        yield Mistake((*at, "band"), _band(radio.band), "the lower frequency first")
    if radio.allocated_band is None:
        return
    allocated_low, allocated_high = radio.allocated_band
    where = (*at, "allocated_band")
    if allocated_low >= allocated_high:
        yield Mistake(where, _band(radio.allocated_band), "the lower frequency first")
    elif low < allocated_low or high > allocated_high:
        expected = f"a range round the band, {_band(radio.band)}"
        yield Mistake(where, _band(radio.allocated_band), expected)


def _band(band: tuple[float, float]) -> str:
    return " to ".join(format_frequency(edge) for edge in band)


def _receiver(radio: Radio, at: KeyPath) -> Iterator[Mistake]:
    from_noise = (radio.noise_figure is not None, radio.required_snr is not None)
    expected = "either sensitivity, or noise_figure with required_snr"
    if radio.sensitivity is not None and any(from_noise):
        yield Mistake((*at, "sensitivity"), "both ways to state the receiver", expected)
    elif radio.sensitivity is None and not all(from_noise):
        found = "half of a receiver" if any(from_noise) else "no receiver"
        mend = "The data sheet has the sensitivity under receiver characteristics."
        yield Mistake(at, found, expected, mend)


def _antennas(scenario: Scenario) -> Iterator[Mistake]:
    ends: dict[str, Antenna | None] = {"antenna": scenario.antenna, "far_end": scenario.far_end}
    for table, antenna in ends.items():
        if antenna is None:
            continue
        yield from _gain(antenna, table)
        if antenna.touchstone is not None:
            if antenna.return_loss is not None:
                yield Mistake(
                    (table, "touchstone"), "both return_loss and touchstone", "one of the two"
                )
            yield from file_mistakes(scenario, antenna.touchstone, (table, "touchstone"))


def _gain(antenna: Antenna, table: str) -> Iterator[Mistake]:
    gain, efficiency = antenna.gain, antenna.efficiency
    if gain is None and efficiency is None and antenna.gain_toward is None:
        yield Mistake(
            (table,),
            "neither gain nor efficiency",
            "at least one of the two, or gain_toward where the direction is known",
        )
    if gain is not None and efficiency is not None:
        mean_dbi = db_from_power_ratio(efficiency.band[0])
        if gain.band[1] < mean_dbi - 0.05:
            yield Mistake(
                (table, "gain"),
                f"a peak gain of {gain.value:g} dBi",
                f"at least the mean over all directions, {mean_dbi:.1f} dBi at this efficiency",
                "State the peak gain without mismatch, or leave one of the two out.",
            )


def _plastics(scenario: Scenario) -> Iterator[Mistake]:
    for index, part in enumerate(scenario.plastics or ()):
        at: KeyPath = ("plastics", index)
        if (part.material is None) == (part.permittivity is None):
            none = part.material is None
            found = (
                "neither material nor permittivity" if none else "both material and permittivity"
            )
            yield Mistake(at, found, 'either material = "ABS" or permittivity = 2.8')
        yield from _far_plastic(part, max(scenario.radio_frequencies_hz, default=0.0), at)


def _far_plastic(part: Plastic, frequency_hz: float, at: KeyPath) -> Iterator[Mistake]:
    far_m = part.gap + part.thickness
    if frequency_hz and far_m > FURTHEST * wavelength_m(frequency_hz):
        yield Mistake(
            (*at, "gap"),
            f"a part that ends {format_length(far_m)} from the antenna",
            f"at most {format_length(FURTHEST * wavelength_m(frequency_hz))}, a quarter wavelength"
            f" at {format_frequency(frequency_hz)}",
            "Plastic further away counts for little: leave it out, or state the thickness up to"
            " there.",
        )


def _scans(scenario: Scenario) -> Iterator[Mistake]:
    yield from _doubles([scan.title for scan in scenario.scans], "scans", "name")
    for index, scan in enumerate(scenario.scans):
        at: KeyPath = ("scans", index)
        yield from file_mistakes(scenario, scan.file, (*at, "file"))
        yield from _scan(scenario, scan, at)
        for position, correction in enumerate(scan.corrections):
            where = (*at, "corrections", position)
            yield from _correction(scenario, scan, correction, where)


def _scan(scenario: Scenario, scan: Scan, at: KeyPath) -> Iterator[Mistake]:
    if scan.transducer == "antenna" and scan.port == "enclosure" and scan.distance is None:
        yield Mistake(
            (*at, "distance"),
            "a radiated scan without its distance",
            'the distance from the antenna to the product, such as distance = "3 m"',
        )
    if (scan.port, scan.transducer) in _IMPOSSIBLE:
        expected = "an antenna" if scan.port == "enclosure" else "a line-impedance network"
        found = f"transducer = {shown(scan.transducer)} at port = {shown(scan.port)}"
        yield Mistake((*at, "transducer"), found, f"{expected} or a probe at this port")
    if scan.port == "AC mains" and scenario.product.mains == "none":
        yield Mistake(
            (*at, "port"),
            'a scan of the AC mains port, and a product with mains = "none"',
            'mains = "built-in" or "adapter", or no such scan',
        )
    names = [variant.name for variant in scenario.variants]
    if scan.variant is not None and scan.variant not in names:
        expected, mend = choice_of(scan.variant, names, "a variant")
        yield Mistake((*at, "variant"), shown(scan.variant), expected, mend)


_IMPOSSIBLE = {("enclosure", "line-impedance network"), ("AC mains", "antenna")}


def _correction(
    scenario: Scenario, scan: Scan, correction: Correction, at: KeyPath
) -> Iterator[Mistake]:
    if (correction.table is None) == (correction.value is None):
        found = "neither table nor value" if correction.table is None else "both table and value"
        yield Mistake(at, found, "one of the two")
    if correction.table is not None:
        yield from file_mistakes(scenario, correction.table, (*at, "table"))
    if correction.value is not None and correction.value.unit != correction.unit:
        found = f"{correction.value.value:g} {correction.value.unit} as {correction.role}"
        yield Mistake((*at, "value"), found, f"a value in {correction.unit}")
    foreign = {"enclosure": "line-impedance network", "AC mains": "antenna factor"}[scan.port]
    if correction.role == foreign:
        found = f"{shown(correction.role)} at port = {shown(scan.port)}"
        yield Mistake((*at, "role"), found, "a correction that belongs to this port")


def _booking(scenario: Scenario) -> Iterator[Mistake]:
    booking = scenario.booking
    if booking is None:
        return
    prices = {
        key: money
        for key in ("slot_price", "retest_price", "week_of_delay")
        if (money := getattr(booking, key)) is not None
    }
    first = next(iter(prices.values()), None)
    for key, money in prices.items():
        if first is not None and money.currency != first.currency:
            yield Mistake(
                ("booking", key), str(money), f"an amount in {first.currency}, as the price above"
            )


def _doubles(names: list[str], table: str, key: str) -> Iterator[Mistake]:
    for index, name in enumerate(names):
        if name in names[:index]:
            first = names.index(name) + 1
            found = f"the name {shown(name)} a second time"
            mend = f"{table}[{first}] has it already; give each a {key} of its own."
            yield Mistake((table, index, key), found, "names that differ", mend)


_CHECKS: tuple[Callable[[Scenario], Iterator[Mistake]], ...] = (
    _product,
    _variants,
    _link,
    _radios,
    _antennas,
    _plastics,
    metal_mistakes,
    room_mistakes,
    goal_mistakes,
    allowed_mistakes,
    _scans,
    _booking,
)
