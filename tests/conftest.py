"""How hard the random tests search: `dev` by default, `ci` and `long` by `tests/run`."""

from hypothesis import HealthCheck, settings

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
