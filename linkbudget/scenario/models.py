"""What a scenario says, table by table: the only keys that a user writes.

A quantity is written as text with its unit and read as a float in the base unit of its kind:
Hz, m, s, dBm, dBi, dB, deg, S/m, bit/s, days, and a share of one for per cent; where it may be
uncertain, as ``core.stated.Stated``. ``None`` means that nobody said. The descriptions are the help
that an editor shows.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Literal

from pydantic import Field, PrivateAttr

from linkbudget.core.errors import InputError
from linkbudget.emissions.scan import Detector, Port, Transducer
from linkbudget.scenario import fields as f
from linkbudget.scenario.lines import KeyPath, LineMap, dotted, line_of
from linkbudget.scenario.link_models import Clock, FarEnd, Goal, Interference, OwnAntenna, Radio
from linkbudget.scenario.metal_models import AllowedChanges, BoardPlane, MeasuredPair, Metal
from linkbudget.scenario.room_models import Room
from linkbudget.scenario.tables import Table

NO_RADIO = "none"  # what a variant without a radio writes


class Product(Table):
    """The product under study."""

    name: f.Text = Field(description="Name of the product, as the report shall print it.")
    description: f.Text | None = Field(None, description="What it is, in one sentence.")
    family: f.Family = Field(
        description="Product family; it picks the emission standard that draws the lines."
    )
    equipment_class: Literal["A", "B"] = Field(
        description="B where it may be used at home, A where only in industry or business."
    )
    mains: Literal["none", "built-in", "adapter"] = Field(
        description="How it meets the AC mains: not at all (battery), by a supply inside, or by"
        " an external adapter."
    )
    mains_adapter: f.Text | None = Field(
        None, description="Which adapter; it is tested with the product and answers for it."
    )
    highest_internal_frequency: f.ClockFrequency | None = Field(
        None,
        description="Fastest clock or bus inside, the radio aside; it decides how high emissions"
        " are measured. Left out: up to 6 GHz.",
    )


class Variant(Table):
    """One version in which the product is sold."""

    name: f.Text = Field(description="Name of the variant, used by the scans.")
    radio: f.Text = Field(
        description='Key of its radio in [radios], or "none" for a variant without a radio.'
    )


class Plastic(Table):
    """A plastic part near the product's antenna."""

    material: f.PlasticName | None = Field(
        None, description="Name of the plastic; or permittivity.", examples=["ABS"]
    )
    permittivity: f.Permittivity | None = Field(
        None, description="Relative permittivity at radio frequencies, where its name is not held."
    )
    thickness: f.Length = Field(description="Thickness of the part.", examples=["2 mm"])
    gap: f.Gap = Field(description="From the antenna's conductor to the part; 0 mm: they touch.")


class Correction(Table):
    """One step from what the analyser showed to the level at the limit line."""

    role: Literal[
        "antenna factor", "cable loss", "attenuator", "preamplifier gain", "line-impedance network"
    ] = Field(description="What the number belongs to.")
    table: f.Text | None = Field(
        None, description="File with frequency and value, beside the scenario; or value."
    )
    value: f.CorrectionValue | None = Field(None, description="One value for all frequencies.")

    @property
    def unit(self) -> Literal["dB", "dB/m"]:
        """Unit that the role asks for."""
        return "dB/m" if self.role == "antenna factor" else "dB"


class Scan(Table):
    """A pre-scan, with the record that makes it usable."""

    file: f.Text = Field(description="File of the scan, relative to the scenario.")
    name: f.Text | None = Field(
        None, description="Short name for tables and legends. Left out: the file's name."
    )
    port: Port = Field(description="What was measured: the enclosure or the AC mains port.")
    transducer: Transducer = Field(description="With what it was measured.")
    detector: Detector | None = Field(None, description="Detector of the receiver.")
    bandwidth: f.Bandwidth | None = Field(None, description="Resolution bandwidth.")
    step: f.Bandwidth | None = Field(None, description="Frequency step.", examples=["60 kHz"])
    swept: f.Flag = Field(
        False,
        description="Whether each point holds the highest level of its whole step; needed only"
        " where the step is larger than the bandwidth.",
    )
    distance: f.Distance | None = Field(None, description="From the antenna to the product.")
    polarisation: Literal["horizontal", "vertical", "both"] | None = Field(
        None,
        description="Polarisation of the measuring antenna; both where the file holds the highest"
        " of the two.",
    )
    antenna_height: f.Length | None = Field(
        None, description="Height of the measuring antenna above the floor.", examples=["1 m"]
    )
    turntable: f.Text | None = Field(None, description="How the product was turned.")
    site: f.Text | None = Field(None, description="Where it was measured.")
    mode: f.Text | None = Field(None, description="What the product was doing.")
    channel: f.Text | None = Field(None, description="Radio channel during the scan.")
    supply: f.Text | None = Field(None, description="Supply voltage and frequency, or battery.")
    conductor: Literal["line", "neutral", "both"] | None = Field(
        None,
        description="Conductor of the mains, for the AC mains port; both where the file holds the"
        " highest of the two.",
    )
    cables: f.Text | None = Field(None, description="Cables and what ended them.")
    firmware: f.Text | None = Field(None, description="Firmware of the product.")
    variant: f.Text | None = Field(
        None, description="Variant that was scanned. Left out: it counts for every variant."
    )
    limit: f.Text | None = Field(
        None, description="Standard whose lines are drawn. Left out: that of the family."
    )
    uncertainty: f.Loss | None = Field(
        None,
        description="Expanded uncertainty of the level, k = 2.",
        examples=["7 dB"],
    )
    frequency_unit: Literal["Hz", "kHz", "MHz", "GHz"] | None = Field(
        None, description="Unit of the frequency column, where the file does not say."
    )
    level_unit: Literal["dBm", "dBuV", "dBuV/m", "dBuA"] | None = Field(
        None, description="Unit of the level column, where the file does not say."
    )
    level_column: f.Text | None = Field(
        None, description="Heading of the level column, where the file holds several."
    )
    corrections: tuple[Correction, ...] = Field(
        (), description="From the reading to the level, each [[scans.corrections]]."
    )

    @property
    def title(self) -> str:
        """Name as stated, or that of the file."""
        return self.name or Path(self.file).stem


class Booking(Table):
    """What a lab slot costs and when it is wanted."""

    slot_price: f.Cash | None = Field(None, description="Price of the lab slot.")
    retest_price: f.Cash | None = Field(
        None, description="Price of coming again.", examples=["3000 EUR"]
    )
    slot_wait: f.Duration | None = Field(None, description="Time until the slot.")
    retest_wait: f.Duration | None = Field(
        None, description="Time until a second slot.", examples=["5 weeks"]
    )
    week_of_delay: f.Cash | None = Field(
        None, description="What one week of delay costs.", examples=["6000 EUR"]
    )
    ship_date: f.Day | None = Field(None, description="Day on which the product shall ship.")


class Scenario(Table):
    """A product, its radios, its metal, its goal and its pre-scans."""

    schema_version: Literal["linkbudget/scenario/1"] | None = Field(
        None, alias="schema", description="Version of this file format."
    )
    product: Product = Field(description="The product under study.")
    variants: tuple[Variant, ...] = Field(
        min_length=1, max_length=50, description="Versions of the product, each [[variants]]."
    )
    radios: dict[str, Radio] = Field(
        default_factory=dict, description="The radios by their keys, each [radios.KEY]."
    )
    antenna: OwnAntenna | None = Field(None, description="The product's antenna.")
    plastics: tuple[Plastic, ...] | None = Field(
        None,
        max_length=20,
        description="Plastic parts near the antenna that were not there when it was tuned, each"
        " [[plastics]]; an empty list says that there are none.",
    )
    far_end: FarEnd | None = Field(None, description="The other end of the link.")
    metal: Metal | None = Field(None, description="The metal round the radio. Left out: none.")
    board: BoardPlane | None = Field(
        None, description="Ground plane of the product's board, parallel to the sheet."
    )
    allowed: AllowedChanges | None = Field(
        None,
        description="How far the product may be changed, where the report looks for what would"
        " help; what is left out is looked at as far as is usual.",
    )
    measured: MeasuredPair | None = Field(
        None,
        description="A pair of measurements with and without the metal; it beats any estimate.",
    )
    room: Room | None = Field(None, description="Where the link has to work.")
    goal: Goal | None = Field(None, description="What the link has to do.")
    interference: tuple[Interference, ...] = Field(
        (), max_length=12, description="What raises the receiver's noise, each [[interference]]."
    )
    clocks: tuple[Clock, ...] = Field(
        (),
        max_length=50,
        description="Clocks inside the product, whose harmonics may fall into a channel, each"
        " [[clocks]].",
    )
    scans: tuple[Scan, ...] = Field((), max_length=200, description="Pre-scans, each [[scans]].")
    booking: Booking | None = Field(None, description="What a lab slot costs.")

    _source_file: Path = PrivateAttr(default=Path("scenario.toml"))
    _lines: LineMap = PrivateAttr(default_factory=dict)

    @property
    def source_file(self) -> Path:
        """File that the scenario was read from."""
        return self._source_file

    @property
    def folder(self) -> Path:
        """Folder to which the paths of a scenario are relative."""
        return self._source_file.parent

    @property
    def radio_frequencies_hz(self) -> tuple[float, ...]:
        """Middle of the band of every radio that a variant uses, each once [Hz]."""
        used = (self.radios.get(variant.radio) for variant in self.variants)
        middles = (math.sqrt(radio.band[0] * radio.band[1]) for radio in used if radio is not None)
        return tuple(dict.fromkeys(middles))

    def remember_place(self, source_file: Path, lines: LineMap) -> None:
        """Note the file that it was read from, and the line of each key."""
        self._source_file, self._lines = source_file, lines

    def path_to(self, name: str) -> Path:
        """Return where a file named in the scenario lies; an absolute name stays."""
        return self.folder / name

    def located(self, error: InputError, *path: str | int) -> InputError:
        """Tell an error that came up later which file, line and key it speaks of.

        Parameters
        ----------
        error : InputError
            What went wrong.
        *path : str or int
            Keys and list positions from the root, such as ``"scans", 0, "file"``.
        """
        spot: KeyPath = path
        return error.located(
            file=str(self._source_file), line=line_of(self._lines, spot), field=dotted(spot)
        )
