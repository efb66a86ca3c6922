"""The parts of the register that need the extra ``sign``: loaded when asked for, missed in one sentence."""

from __future__ import annotations

from importlib import import_module
from typing import Any, Final

from planforge.errors import PlanforgeError

_LIBRARIES: Final = ("pyhanko", "pyhanko_certvalidator", "asn1crypto", "cryptography")


class ExtraMissingError(PlanforgeError):
    """The extra ``sign`` is not installed."""


def signing_part(module: str) -> Any:
    """A module of this package that needs the extra ``sign``.

    Raises :class:`ExtraMissingError` where the extra is not installed.
    """
    try:
        return import_module(f"planforge.register.{module}")
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in _LIBRARIES:
            raise
        raise ExtraMissingError(
            "signing with a certificate, and checking signatures, needs planforge's extra 'sign': "
            "pip install 'planforge[sign]'"
        ) from error
