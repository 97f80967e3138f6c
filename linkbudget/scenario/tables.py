"""What every table of a scenario has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table whose keys are closed and whose values never change once read."""

    model_config = ConfigDict(frozen=True, extra="forbid")
