"""Commands, options and exit codes; what they do lives in ``study`` and ``report``.

Nothing heavy is imported here, so that ``--help`` and ``--version`` answer at once.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from linkbudget import __version__
from linkbudget.core.errors import InputError, InputErrors, LinkbudgetError

if TYPE_CHECKING:
    from linkbudget.results import StudyResult
    from linkbudget.scenario import Scenario

DONE, AT_FAULT, THRESHOLD_MISSED = 0, 1, 3

app = typer.Typer(
    name="linkbudget",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

ScenarioPath = Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")]


def _finite(wanted_db: Optional[float]) -> Optional[float]:  # noqa: UP045 -- as typer reads it
    if wanted_db is not None and not math.isfinite(wanted_db):
        raise typer.BadParameter("a number of dB is wanted")
    return wanted_db


RequireMargin = Annotated[
    Optional[float],  # noqa: UP045 -- typer reads this at run time
    typer.Option(
        "--require-margin",
        callback=_finite,
        metavar="DB",
        help="Exit with 3 unless the worst margin is at least this many dB.",
    ),
]


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"linkbudget {__version__}")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """Answer: does the metal kill the range, do the scans meet the lines, book the lab or not.

    Estimates only: an accredited laboratory and the published standard decide.
    """


@app.command()
def init(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="Where to write the scenario.")],
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")] = False,
) -> None:
    """Write a commented scenario to start from."""
    from linkbudget.cli.output import write_whole
    from linkbudget.scenario import starter

    if path.exists() and not force:
        raise InputError(
            f"{path} exists already",
            "a path where nothing stands",
            "Choose another path, or add --force to overwrite it.",
        )
    write_whole(path, starter())
    typer.echo(f"Wrote {path}. Next: linkbudget check {path}")


@app.command()
def check(scenario: ScenarioPath, as_json: AsJson = False) -> None:
    """Tell every mistake, or what is there and what is not.

    Exits with 1 where a link cannot be judged as it stands.
    """
    from linkbudget.report.range_answer import is_refused
    from linkbudget.report.terminal import check_summary
    from linkbudget.study import study

    found = study(_loaded(scenario), progress=_progress)
    _show(found, as_json, check_summary)
    refused = [one for one in found.links if is_refused(one)]
    for one in refused:
        typer.echo(f"linkbudget: link of {one.variant}: {one.absent_because}", err=True)
    if refused:
        raise typer.Exit(AT_FAULT)


@app.command()
def link(
    scenario: ScenarioPath, as_json: AsJson = False, require_margin: RequireMargin = None
) -> None:
    """Tell budget, fade margin and range, with and without metal."""
    from linkbudget.report.terminal import link_summary
    from linkbudget.study import study, worst_link_margin_db

    result = study(_loaded(scenario), emissions=False, refuse=True, progress=_progress)
    _show(result, as_json, link_summary)
    _hold(require_margin, worst_link_margin_db(result), "link margin")


@app.command()
def enclosure(scenario: ScenarioPath, as_json: AsJson = False) -> None:
    """Tell what the metal does to the antenna, path by path."""
    from linkbudget.report.terminal import enclosure_summary
    from linkbudget.study import study

    result = study(_loaded(scenario), emissions=False, refuse=True, progress=_progress)
    _show(result, as_json, enclosure_summary)


@app.command()
def emissions(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Scenario (.toml), or one pre-scan (.csv).")
    ],
    limit: Annotated[
        str, typer.Option(help='Limit lines for a bare pre-scan, such as "CISPR 32 class B".')
    ] = "",
    port: Annotated[str, typer.Option(help='"enclosure" or "AC mains".')] = "",
    transducer: Annotated[
        str,
        typer.Option(
            help='"antenna", "line-impedance network", "current probe" or "near-field probe".'
        ),
    ] = "",
    detector: Annotated[str, typer.Option(help='"peak", "quasi-peak" or "average".')] = "",
    distance: Annotated[str, typer.Option(help='Antenna to product, such as "3 m".')] = "",
    bandwidth: Annotated[str, typer.Option(help='Resolution bandwidth, such as "120 kHz".')] = "",
    swept: Annotated[
        bool, typer.Option("--swept", help="Each point holds the highest level of its step.")
    ] = False,
    polarisation: Annotated[str, typer.Option(help='"horizontal", "vertical" or "both".')] = "",
    conductor: Annotated[str, typer.Option(help='"line", "neutral" or "both".')] = "",
    antenna_factor: Annotated[
        str, typer.Option(metavar="TABLE|VALUE", help='CSV table, or a value such as "12 dB/m".')
    ] = "",
    cable_loss: Annotated[
        str, typer.Option(metavar="TABLE|VALUE", help='CSV table, or a value such as "1.5 dB".')
    ] = "",
    attenuator: Annotated[
        str, typer.Option(metavar="TABLE|VALUE", help='CSV table, or a value such as "10 dB".')
    ] = "",
    preamplifier_gain: Annotated[
        str, typer.Option(metavar="TABLE|VALUE", help='CSV table, or a value such as "28 dB".')
    ] = "",
    line_impedance_network: Annotated[
        str,
        typer.Option(metavar="TABLE|VALUE", help="Voltage division of the network (LISN, AMN)."),
    ] = "",
    transmitter_band: Annotated[
        str,
        typer.Option(metavar="LOW..HIGH", help='Own radio, such as "2.4 GHz..2.4835 GHz".'),
    ] = "",
    highest_internal_frequency: Annotated[
        str, typer.Option(help='Highest frequency inside the product, such as "480 MHz".')
    ] = "",
    uncertainty: Annotated[
        str, typer.Option(help='Your measurement uncertainty at k = 2, such as "6 dB".')
    ] = "",
    frequency_unit: Annotated[
        str, typer.Option(help="Hz, kHz, MHz or GHz, where the file does not say.")
    ] = "",
    level_unit: Annotated[
        str, typer.Option(help="dBm, dBuV or dBuV/m, where the file does not say.")
    ] = "",
    level_column: Annotated[str, typer.Option(help="Which column holds the level.")] = "",
    as_json: AsJson = False,
    require_margin: RequireMargin = None,
) -> None:
    """Lay pre-scans over the limit lines, with their uncertainty."""
    from linkbudget.report.terminal import emissions_summary
    from linkbudget.study import study, study_bare_scan, worst_emission_margin_db

    facts = {
        "limit": limit,
        "port": port,
        "transducer": transducer,
        "detector": detector,
        "distance": distance,
        "bandwidth": bandwidth,
        "swept": "yes" if swept else "",
        "polarisation": polarisation,
        "conductor": conductor,
        "antenna factor": antenna_factor,
        "cable loss": cable_loss,
        "attenuator": attenuator,
        "preamplifier gain": preamplifier_gain,
        "line-impedance network": line_impedance_network,
        "transmitter band": transmitter_band,
        "highest internal frequency": highest_internal_frequency,
        "uncertainty": uncertainty,
        "frequency unit": frequency_unit,
        "level unit": level_unit,
        "level column": level_column,
    }
    given = {name: text for name, text in facts.items() if text}
    if file.suffix.lower() == ".toml":
        if given:
            raise InputError(
                f"a scenario together with options for a bare pre-scan ({', '.join(given)})",
                "these facts inside the scenario's [[scans]]",
                "Move them there, or name the CSV file itself.",
            )
        result = study(_loaded(file), link=False, progress=_progress)
    else:
        result = study_bare_scan(file, given)
    _show(result, as_json, emissions_summary)
    _hold(require_margin, worst_emission_margin_db(result), "emission margin")


@app.command()
def limits(
    equipment_class: Annotated[
        str, typer.Option("--class", metavar="A|B", help="Only this class.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """List every limit line held, with its source and status."""
    from linkbudget.report.record import limits_json
    from linkbudget.report.terminal import limits_summary
    from linkbudget.study import held_lines

    lines = held_lines(equipment_class)
    typer.echo(limits_json(lines) if as_json else limits_summary(lines))


@app.command()
def decide(
    scenario: ScenarioPath, as_json: AsJson = False, require_margin: RequireMargin = None
) -> None:
    """Book the lab, fix first, or measure more.

    It weighs the emission lines alone; immunity, radio and safety tests are not estimated.
    """
    from linkbudget.report.terminal import decide_summary
    from linkbudget.study import study, worst_emission_margin_db

    result = study(_loaded(scenario), link=False, progress=_progress)
    _show(result, as_json, decide_summary)
    _hold(require_margin, worst_emission_margin_db(result), "emission margin")


@app.command()
def vary(
    scenario: ScenarioPath,
    field: Annotated[
        list[str],
        typer.Option(
            "--field", metavar="KEY", help='What to vary, such as "metal.antenna_depth"; or two.'
        ),
    ],
    values: Annotated[
        list[str],
        typer.Option(
            "--values",
            metavar="VALUES",
            help='"5 mm, 8 mm, 12 mm", or "5 mm to 20 mm in 6 steps": six values, ends included.',
        ),
    ],
    output: Annotated[
        Optional[Path],  # noqa: UP045 -- typer reads this at run time
        typer.Option("--output", metavar="FILE", help="Write a .csv, .json or .html file too."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Answer the link at every value of one scenario field, or of two.

    The scenario itself stays as it is. A list position counts from 1: variants[2].radio.
    """
    from linkbudget.cli.output import vary_writer, write_whole
    from linkbudget.report.record import vary_json
    from linkbudget.report.varied_text import vary_summary
    from linkbudget.study.varying import vary as answer

    write = vary_writer(output) if output is not None else None
    varied = answer(scenario, field, values, progress=_progress)
    typer.echo(vary_json(varied) if as_json else vary_summary(varied))
    if output is not None and write is not None:
        write_whole(output, write(varied))
        typer.echo(f"Wrote {output}", err=as_json)


@app.command()
def report(
    scenario: ScenarioPath,
    output: Annotated[
        Path, typer.Option("--output", metavar="DIR", help="Folder for report.html.")
    ] = Path("report"),
    as_json: AsJson = False,
) -> None:
    """Write one report.html that opens offline in any browser."""
    from linkbudget.cli.output import write_whole
    from linkbudget.report.page import render_page
    from linkbudget.report.terminal import summary
    from linkbudget.study import study

    result = study(_loaded(scenario), progress=_progress)
    _progress("drawing the report")
    path = output / "report.html"
    write_whole(path, render_page(result))
    _show(result, as_json, summary)
    typer.echo(f"Wrote {path}", err=as_json)


def _loaded(path: Path) -> Scenario:
    from linkbudget.scenario import load_scenario

    _progress(f"reading {path}")
    return load_scenario(path)


def _progress(step: str) -> None:
    if sys.stderr.isatty():
        typer.echo(f"… {step}", err=True)


def _show(result: StudyResult, as_json: bool, plain: Callable[[StudyResult], str]) -> None:
    if as_json:
        from linkbudget.report.record import to_json

        typer.echo(to_json(result))
    else:
        typer.echo(plain(result))


def _hold(wanted_db: float | None, worst_db: float | None, what: str) -> None:
    """Exit with 3 where the user's own threshold is missed or cannot be judged."""
    if wanted_db is None or (worst_db is not None and worst_db >= wanted_db):
        return
    found = (
        "is not known, since not all of it is measured or modelled"
        if worst_db is None
        else f"is {worst_db:.1f} dB"
    )
    typer.echo(f"The worst {what} {found}; --require-margin asks for {wanted_db:g} dB.", err=True)
    raise typer.Exit(THRESHOLD_MISSED)


def run() -> None:
    """Run the command line; turn every expected error into one readable message."""
    try:
        app()
    except LinkbudgetError as error:
        for one in error.errors if isinstance(error, InputErrors) else (error,):
            typer.echo(f"linkbudget: {one}", err=True)
        sys.exit(AT_FAULT)
    except Exception as error:
        if os.environ.get("LINKBUDGET_TRACEBACK"):
            raise
        typer.echo(
            f"linkbudget: a fault of this tool, not of your input ({type(error).__name__}:"
            f" {error}). Set LINKBUDGET_TRACEBACK=1 and run again to see where.",
            err=True,
        )
        sys.exit(AT_FAULT)
