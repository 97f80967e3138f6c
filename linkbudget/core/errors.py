"""Errors that speak to an engineer: where, what was found, what was expected, how to mend it."""

from __future__ import annotations

from collections.abc import Sequence


class LinkbudgetError(Exception):
    """Root of every error that this package raises on purpose."""


class InputError(LinkbudgetError):
    """The user's input is at fault, or too ambiguous to use.

    Parameters
    ----------
    found : str
        What stands there, in the user's own words where that is possible.
    expected : str
        What would have been right.
    mend : str, optional
        How to put it right.
    file : str, optional
        The file as the user named it.
    line : int, optional
        Line in that file, counted from 1.
    field : str, optional
        Dotted key of a scenario, name of a column, or name of an option.

    Examples
    --------
    >>> print(InputError(found="'2.4'", expected="a frequency with its unit", field="radio.band"))
    radio.band: found '2.4'; expected a frequency with its unit
    """

    def __init__(
        self,
        found: str,
        expected: str,
        mend: str = "",
        *,
        file: str = "",
        line: int | None = None,
        field: str = "",
    ) -> None:
        self.found = found
        self.expected = expected
        self.mend = mend
        self.file = file
        self.line = line
        self.field = field
        super().__init__(found, expected, mend)

    @property
    def place(self) -> str:
        """File, line and field, as far as they are known."""
        spot = f"{self.file}:{self.line}" if self.file and self.line else self.file
        if not spot and self.line:
            spot = f"line {self.line}"
        return ": ".join(part for part in (spot, self.field) if part)

    def located(self, *, file: str = "", line: int | None = None, field: str = "") -> InputError:
        """Return a copy that knows more about the place; what is known already stays."""
        return type(self)(
            self.found,
            self.expected,
            self.mend,
            file=self.file or file,
            line=self.line if self.line is not None else line,
            field=self.field or field,
        )

    def __str__(self) -> str:
        text = f"found {self.found}; expected {self.expected}"
        if self.mend:
            text += f". {self.mend}"
        return f"{self.place}: {text}" if self.place else text


class OutOfRange(InputError):
    """A value lies outside the range in which a formula or a table holds.

    Parameters
    ----------
    what : str
        The quantity, with its unit.
    value, low, high : float
        The value and the range that holds, all in that unit.

    Examples
    --------
    >>> print(OutOfRange("frequency (Hz)", 5e5, 3e7, 1e9))
    found frequency (Hz) 500000; expected 3e+07 to 1e+09
    """

    def __init__(
        self,
        what: str,
        value: float,
        low: float,
        high: float,
        mend: str = "",
        *,
        file: str = "",
        line: int | None = None,
        field: str = "",
    ) -> None:
        super().__init__(
            f"{what} {value:g}", f"{low:g} to {high:g}", mend, file=file, line=line, field=field
        )
        self.what = what
        self.value = value
        self.low = low
        self.high = high

    def located(self, *, file: str = "", line: int | None = None, field: str = "") -> OutOfRange:
        """Return a copy that knows more about the place; what is known already stays."""
        return OutOfRange(
            self.what,
            self.value,
            self.low,
            self.high,
            self.mend,
            file=self.file or file,
            line=self.line if self.line is not None else line,
            field=self.field or field,
        )


class MissingData(InputError):
    """The answer needs a fact that nobody stated, and no honest default exists."""


class InputErrors(LinkbudgetError):
    """Several mistakes in one file, told at once.

    Parameters
    ----------
    errors : sequence of InputError
        At least one, in the order of the file.
    """

    def __init__(self, errors: Sequence[InputError]) -> None:
        self.errors = tuple(errors)
        super().__init__(self.errors)

    def __str__(self) -> str:
        return "\n".join(str(error) for error in self.errors)
