"""The command that signs a plan with a certificate."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from planforge.cli.program import MEETS, SHORT, app, later, register_at, tell
from planforge.errors import PlanforgeError


@app.command()
def sign(
    plan: Annotated[Path, typer.Argument(metavar="FILE.pdf", help="The plan to sign, in place.")],
    role: Annotated[
        str, typer.Option(help="As whom, such as 'Competent person'; a wrong one lists them all.")
    ],
    certificate: Annotated[
        Path, typer.Option(help="Your certificate with its private key (PKCS #12: .p12 or .pfx).")
    ],
    passphrase_file: Annotated[
        Path | None,
        typer.Option(
            help="A file whose first line is the passphrase; asked for on the terminal if not given."
        ),
    ] = None,
    register: Annotated[
        Path | None,
        typer.Option(
            help="The register of plans, a file or its folder; if not given, beside the plan, else output."
        ),
    ] = None,
) -> None:
    """Sign a plan with a certificate, in the field of a role; needs the extra 'sign'.

    Example:  planforge sign output/AF-2026-207-r1.pdf --role "Competent person" --certificate aspen.p12

    The signature is appended: the plan stays what was issued, and others can sign after you. Fill in fields
    before you sign. A plan that is altered, superseded or a draft is not signed. Where the plan names someone
    else for the role it is said, here and by verify: who signs as a deputy says so to those who rely on it.

    Exit code 0: signed. 1: signed by another than the plan names for the role. 2: not signed.
    """
    signing = later("register.extra", "signing_part")("signing")
    book = register_at(register or later("register.register", "register_of")(plan))
    secret = _passphrase(certificate, passphrase_file)
    done = signing.sign(plan, role, certificate, secret, book)
    tell(f"{plan}: signed by {done.signer} as {done.field.role!r}, page {done.field.page}")
    if done.verdict.name == "UNKNOWN":
        tell("note: no register here knows this plan: see with the one who keeps it that it is current")
    if done.apart:
        tell(f"{'WARNING' if done.by_another else 'note'}: {done.apart}")
    raise typer.Exit(SHORT if done.by_another else MEETS)


def _passphrase(certificate: Path, file: Path | None) -> str:
    """From the file, else from the terminal; never from the command line, which others can read."""
    if file is not None:
        try:
            with file.open(encoding="utf-8") as lines:
                return lines.readline(4096).rstrip("\r\n")
        except (OSError, UnicodeDecodeError) as error:
            raise PlanforgeError(f"{file} can't be read as a passphrase: {error}.") from error
    if sys.stdin is None or not sys.stdin.isatty():
        raise PlanforgeError(
            "there is no terminal to ask for the passphrase on; give --passphrase-file FILE."
        )
    return str(
        typer.prompt(
            f"Passphrase of {certificate}", default="", hide_input=True, show_default=False, err=True
        )
    )
