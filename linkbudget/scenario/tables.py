"""What every table of a scenario has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table whose keys are closed and whose values never change once read."""

    # built once as parts of the scenario, not each alone as well
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
