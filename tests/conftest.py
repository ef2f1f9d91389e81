"""How hard the random tests search: `dev` by default, `ci` and `long` by `tests/run`.

What a test records under `SHOWN` is printed at the end of the run, whoever ran it.
"""

import gc
import os

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.internal.conjecture import providers

SHOWN = "shown at the end"

SLOW_IS_FINE = [HealthCheck.too_slow]

settings.register_profile("dev", max_examples=50, deadline=None, suppress_health_check=SLOW_IS_FINE)
settings.register_profile(
    "ci",
    max_examples=500,
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=SLOW_IS_FINE,
)
settings.register_profile(
    "long", max_examples=5000, deadline=None, suppress_health_check=SLOW_IS_FINE
)
settings.load_profile("dev")

gc.set_threshold(500_000, 20, 20)  # graphs of random props are large and have no circles

os.environ.pop("COLUMNS", None)  # tests side by side are told 80; text keeps its own width


# Hypothesis also draws the constants of every loaded module of the project; then which random props
# come up would hang on the tests that are run beside them, and how often a verdict comes up is
# counted. Its older versions have no such thing.
if hasattr(providers, "_get_local_constants"):
    NO_CONSTANTS = providers._local_constants
    providers._get_local_constants = lambda: NO_CONSTANTS


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print what tests have recorded to be shown."""
    reports = (*terminalreporter.getreports("passed"), *terminalreporter.getreports("failed"))
    for report in reports:
        lines = [value for name, value in report.user_properties if name == SHOWN]
        if lines:
            terminalreporter.section(report.nodeid.rpartition("::")[2].replace("_", " "))
            for line in lines:
                terminalreporter.line(str(line))
