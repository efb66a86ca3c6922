"""How many examples a test here tries: few by default, twenty times as many under the profile ``long``."""

from __future__ import annotations

from hypothesis import HealthCheck, Phase, settings

_USUAL = 100  # Hypothesis's own number, by which a profile's is measured

QUIET = [
    HealthCheck.too_slow,
    HealthCheck.data_too_large,
    HealthCheck.large_base_example,
    HealthCheck.filter_too_much,
    HealthCheck.function_scoped_fixture,
]


def few(count: int, *, slow: bool = False) -> settings:
    """Settings for so many examples by default, each as long as it takes.

    A failure is made smaller only under ``long``, and not where one example is ``slow``.
    """
    times = max(1, settings.default.max_examples // _USUAL)
    phases = [phase for phase in Phase if (times > 1 and not slow) or phase is not Phase.shrink]
    return settings(max_examples=count * times, deadline=None, suppress_health_check=QUIET, phases=phases)
