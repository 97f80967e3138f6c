"""Correction chains and conversions that others printed."""

import numpy as np
import pytest

from linkbudget.emissions.corrections import Correction, correct
from linkbudget.emissions.scan import ScanRecord, Trace


def _trace(level, unit):
    return Trace(np.array([100e6]), np.array([level]), unit, "scan.csv")


@pytest.mark.published(
    source="public test report of a control panel, radiated emissions",
    where="page 10: 52.5 dBuV + 7.4 dB/m - 27.9 dB = 32.0 dBuV/m",
)
def test_worked_chain_of_a_test_report(printed):
    chain = [Correction("antenna factor", 7.4), Correction("preamplifier gain", 27.9)]
    scan = correct("scan", _trace(52.5, "dBuV"), ScanRecord("enclosure", "antenna"), chain)
    assert scan.trace.level_db[0] == printed("32.0")
    assert scan.trace.unit == "dBuV/m"


@pytest.mark.published(
    source="application note of an antenna maker, typical conversion formulas",
    where="dBuV = dBm + 107 in 50 ohm",
    practice=True,
)
def test_a_reading_in_dbm_becomes_dbuv(printed):
    record = ScanRecord("AC mains", "line-impedance network")
    assert correct("scan", _trace(0.0, "dBm"), record).trace.level_db[0] == printed("107")
