"""Small sites on disk for the tests of ``planforge.site``; their lots are ``tests/job/sound_job.yaml``."""

from __future__ import annotations

from pathlib import Path

import pytest

from planforge.errors import JobFileError
from planforge.job.model import Job
from planforge.site.lots import load_lot
from planforge.site.reading import Site, read_site

SOUND = (Path(__file__).parents[1] / "job" / "sound_job.yaml").read_text("utf-8")
HEAD = "format: planforge site 1\nsite: Example Row\n"
OF_LOT = ("plan", "site", "phases", "lower_levels", "slab", "weather", "rescue", "inspections", "releases")
"""The parts of the sound job that belong to one lot."""


def parts(text: str = SOUND) -> dict[str, str]:
    """The text of each part of a job file by its field."""
    found: dict[str, str] = {}
    name = ""
    for line in text.splitlines(keepends=True):
        if line[:1].isalpha():
            name = line.partition(":")[0]
        if name:
            found[name] = found.get(name, "") + line
    return found


def shared_text() -> str:
    """What the sound job would share with other lots: everything that is not one lot's alone."""
    return "".join(text for name, text in parts().items() if name not in (*OF_LOT, "format"))


def own_text() -> str:
    """What the sound job states of its lot alone."""
    return "".join(parts()[name] for name in OF_LOT)


def put(folder: Path, **files: str) -> None:
    """Write files; the last underscore of a name stands for the point of its ending: ``lots_csv``."""
    for name, text in files.items():
        stem, _, ending = name.rpartition("_")
        (folder / f"{stem}.{ending}").write_bytes(text.encode("utf-8"))


def of_table(folder: Path, table: str | bytes, name: str = "lots.csv") -> Site:
    """Read a site whose lots stand in a table alone; ``lot.yaml`` beside it is the sound job."""
    put(folder, site_yaml=f"{HEAD}table: {name}\n", lot_yaml=SOUND)
    (folder / name).write_bytes(table if isinstance(table, bytes) else table.encode("utf-8"))
    return read_site(folder / "site.yaml")


def jobs(site: Site) -> list[Job]:
    """Every job of a site."""
    return [load_lot(source).model for source in site.lots]


def refused(folder: Path, text: str | None = None) -> list[str]:
    """Each problem of a site that can't be read, without the folder."""
    if text is not None:
        put(folder, site_yaml=text)
    with pytest.raises(JobFileError) as error:
        read_site(folder / "site.yaml")
    return [str(problem).replace(f"{folder}/", "") for problem in error.value.problems]


def faults(site: Site, number: int = 0) -> list[str]:
    """Each problem of one lot, without the folder."""
    with pytest.raises(JobFileError) as error:
        load_lot(site.lots[number])
    folder = site.path.parent
    return [str(problem).replace(f"{folder}/", "") for problem in error.value.problems]
