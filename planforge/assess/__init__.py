"""A job to its assessment: everything computed, every check a finding.

``planforge.assess(job)`` is the public call, and ``planforge.assess`` is also this package: the module
answers the call by handing on to :func:`planforge.assess.assessment.assess`.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planforge.assess.assessment import Assessment
    from planforge.job.model import Job


class _Assess(ModuleType):
    def __call__(self, job: Job) -> Assessment:
        """Compute everything a plan prints for one job."""
        result: Assessment = import_module("planforge.assess.assessment").assess(job)
        return result


sys.modules[__name__].__class__ = _Assess
