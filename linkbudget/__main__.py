"""``python -m linkbudget``."""

from linkbudget.cli.main import run

run()
