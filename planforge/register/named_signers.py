"""Whom a plan names for the role in which someone signs, and whether a certificate's name is that person's.

A certificate's name is what it says of its holder. That it agrees shows no more than that; that it does not
is said, since a deputy may sign, and who reads the plan must know.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from planforge.errors import PlanforgeError
from planforge.job.model import Job
from planforge.languages import languages
from planforge.register.jobs import load_text, person
from planforge.register.pdf import attached_job, open_pdf

_WHO: Final = {
    "safety coordinator": ("safety_coordinator",),
    "competent person": ("competent_person", "competent_alternate"),
    "qualified person": ("qualified_person",),
    "erection lead": ("erection_lead",),
    "rescue lead": ("rescue_lead", "rescue_alternate"),
}
"""Under a role's name, who may act in it (fields of the job's roles)."""

_ASIDE: Final = re.compile(r"\([^)]*\)|,.*")
"""What follows a name: a licence, a degree, an explanation."""


def named_in(data: bytes) -> Job | None:
    """The job inside a plan; None where there is none that can be read."""
    text = attached_job(open_pdf(data))
    try:
        return load_text(text, "the job inside").model if text is not None else None
    except PlanforgeError:
        return None


def named_for(job: Job, role: str) -> tuple[str, ...]:
    """The names of those whom a job names for a role of its form; empty where it names nobody.

    A sign-off names its own person. Any other field names its role at its end, in a language of the plan:
    ``release of L-1, competent person``.
    """
    for sign_off in job.sign_offs or []:
        if _plain(sign_off.role) == _plain(role):
            return (person(job, sign_off.person),) if sign_off.person else ()
    last = _plain(re.split(r"[:,]", role)[-1])
    for english, fields in _WHO.items():
        if last in _in_every_language(english):
            ids = [getattr(job.roles, name) for name in fields]
            return tuple(dict.fromkeys(person(job, one) for one in ids if one))
    return ()


def _in_every_language(role: str) -> set[str]:
    known = {_plain(one.deciders[role]) for one in languages().values() if role in one.deciders}
    return known | {role}


def same_person(name: str, signer: str) -> bool:
    """True where a certificate's name is a plan's: the same words in any order, accents and titles apart."""
    own, other = _words(name), _words(signer)
    return bool(own) and own == other


def _words(name: str) -> set[str]:
    letters = unicodedata.normalize("NFKD", _ASIDE.sub("", name))
    return set(re.findall(r"\w+", "".join(c for c in letters if not unicodedata.combining(c)).casefold()))


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def compared(signer: str, named: tuple[str, ...]) -> str:
    """How a signer stands to whom the plan names, in words; empty where the names agree."""
    if not named:
        return "the plan names nobody for this role"
    if any(same_person(name, signer) for name in named):
        return ""
    return f"signed by {signer}; the plan names {' or '.join(named)} for this role"
