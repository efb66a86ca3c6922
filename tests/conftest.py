"""How Hypothesis tests here, in every folder: by what comes out, never by how busy the machine is."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("steady", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")
