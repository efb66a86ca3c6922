"""Coverage-guided fuzzing of the job reader, for as long as one likes; needs the extra ``fuzz``.

    python -m tests.hard_use.fuzz_reader --seconds 600

It begins from the demos, whole and part by part, and keeps to ``test_reader.look``: a job, or problems in
proper words. What breaks that is printed and kept as a file ``crash-…`` in the present folder. Each such
finding belongs, by its least input, into ``test_found_reading.py``.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["planforge.job", "planforge.units"]):
    from planforge.job.loading import load
    from planforge.job.reference import fields

from planforge.job.model import LOT_ONLY

from .mutations import DEMOS, LOTS, demo, written
from .odd import ODD_TEXTS, ODD_VALUES
from .test_reader import read

SECONDS_FOR_ONE = 300  # by the clock, on a busy machine; test_reader.read bounds the processor time
MEGABYTES = 2048
LONGEST = 1 << 16


def seeds(folder: Path) -> None:
    """Write each demo, each of its parts, and each file of a design as a first input of its own."""
    for name in LOTS:
        tree = demo(name)
        (folder / name).write_bytes(written(tree))
        for part, value in tree.items():
            (folder / f"{name}-{part}").write_bytes(written({part: value}))
    for path in DEMOS.glob("*.yaml"):
        (folder / path.stem).write_bytes(path.read_bytes())


def words(path: Path) -> None:
    """Write what a mutation may put in: names of fields, odd texts and values, what YAML gives a meaning."""
    names = {part for field in fields() for part in field.split(".")} | set(LOT_ONLY)
    texts = [
        *(f"{name}: " for name in sorted(names)),
        *ODD_TEXTS,
        *(v for v in ODD_VALUES if isinstance(v, str)),
    ]
    short = [
        text.encode()[:60] for text in (*texts, "extends: ", "\n  - ", "&a ", "*a", "!!x ", "<<: ", "null")
    ]
    lines = ['"' + "".join(f"\\x{byte:02X}" for byte in text) + '"' for text in short if text]
    path.write_text("\n".join(dict.fromkeys(lines)) + "\n", "ascii")


def main() -> None:
    """Fuzz for the seconds asked for; the exit code is not 0 where something was found."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="planforge-fuzz-") as made:
        folder = Path(made)
        (folder / "corpus").mkdir()
        seeds(folder / "corpus")
        words(folder / "words")
        for path in DEMOS.glob("*.yaml"):  # what a lot may extend
            (folder / path.name).write_bytes(path.read_bytes())
        assert load(DEMOS / f"{LOTS[0]}.yaml").model
        options = [
            f"-max_total_time={chosen.seconds}",
            f"-seed={chosen.seed}",
            f"-timeout={SECONDS_FOR_ONE}",
            f"-rss_limit_mb={MEGABYTES}",
            f"-max_len={LONGEST}",
            f"-dict={folder / 'words'}",
            "-print_final_stats=1",
            str(folder / "corpus"),
        ]
        atheris.Setup([sys.argv[0], *options], lambda data: read(folder / "lot.yaml", data))
        atheris.Fuzz()


if __name__ == "__main__":
    main()
