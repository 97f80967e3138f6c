"""Radio range under metal, emission margins from pre-scans, and whether to book the EMC lab."""

__version__ = "0.1.0"
