"""Where a number comes from: document, edition, clause, and how it was obtained."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, cast, get_args

from linkbudget.core.errors import InputError

_STANDARDS = ("CISPR", "EN ", "IEC ", "ETSI", "ITU-R", "47 CFR", "ISO", "JCGM")

Obtained = Literal["read in source", "secondary source", "from memory", "computed"]


@dataclass(frozen=True, slots=True)
class Source:
    """Provenance of a data row.

    Parameters
    ----------
    document, edition, clause : str
        The document that sets or prints the value, its edition, and the clause or table.
    obtained : {"read in source", "secondary source", "from memory", "computed"}
        How this project came by the number.
    checked : bool
        Whether it was compared with the document itself.
    note : str
        Where it was read, or what to beware of.
    """

    document: str
    edition: str
    clause: str
    obtained: Obtained
    checked: bool = False
    note: str = ""

    @property
    def status(self) -> str:
        """How far the value may be trusted, in words."""
        if self.checked:
            return f"{self.obtained}; checked against the document"
        kind = "standard" if self.document.startswith(_STANDARDS) else "document"
        return f"{self.obtained}; check against the {kind}"

    def __str__(self) -> str:
        head = ", ".join(part for part in (self.document, self.edition, self.clause) if part)
        return f"{head} ({self.status})"


def source_from_row(row: dict[str, str], *, file: str, line: int) -> Source:
    """Build the source of a data row; a row without one is refused.

    Parameters
    ----------
    row : dict
        Columns ``document, edition, clause, obtained, checked`` and optionally ``note``.
    file, line : str, int
        Place of the row, for the message.

    Raises
    ------
    InputError
        Where the document or the way it was obtained is missing or unknown.
    """
    document = (row.get("document") or "").strip()
    obtained = (row.get("obtained") or "").strip()
    if not document:
        raise InputError(
            "a data row without a source",
            "a document in column 'document'",
            file=file,
            line=line,
            field="document",
        )
    if obtained not in get_args(Obtained):
        raise InputError(
            repr(obtained),
            "one of " + ", ".join(get_args(Obtained)),
            file=file,
            line=line,
            field="obtained",
        )
    return Source(
        document=document,
        edition=(row.get("edition") or "").strip(),
        clause=(row.get("clause") or "").strip(),
        obtained=cast(Obtained, obtained),
        checked=(row.get("checked") or "").strip() == "yes",
        note=(row.get("note") or "").strip(),
    )
