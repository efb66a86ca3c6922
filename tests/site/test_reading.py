"""A site file to its lots: three ways to state a lot come to one job, and each fault names its place."""

from __future__ import annotations

import pickle
import textwrap
from pathlib import Path

import pytest

from planforge.job.loading import load_job
from planforge.site import model
from planforge.site.lots import load_lot
from planforge.site.reading import read_site
from planforge.site.recognising import is_site

from .sites import HEAD, SOUND, faults, jobs, own_text, put, refused, shared_text


def inline(text: str, name: str = "one", more: str = "") -> str:
    """A lot written out in a site file."""
    return f"  - id: {name}\n{more}" + textwrap.indent(text, "    ")


def test_a_lot_of_a_site_is_the_small_job_file_that_extends_the_same(tmp_path: Path) -> None:
    small = "format: planforge job 1\nextends: [shared.yaml]\n" + own_text()
    put(tmp_path, shared_yaml=shared_text(), small_yaml=small, sound_yaml=SOUND)
    put(tmp_path, shared_site_yaml=HEAD + "shared: [shared.yaml]\nlots:\n" + inline(own_text()))
    extending = HEAD + "lots:\n" + inline(own_text(), more="    extends: [shared.yaml]\n")
    put(tmp_path, extending_site_yaml=extending)
    put(tmp_path, job_site_yaml=HEAD + "lots: [{id: one, job: small.yaml}]\n")
    expected = load_job(tmp_path / "small.yaml")
    assert expected == load_job(tmp_path / "sound.yaml")
    for name in ("shared_site", "extending_site", "job_site"):
        assert jobs(read_site(tmp_path / f"{name}.yaml")) == [expected], name


def test_what_is_stated_beside_a_job_is_laid_over_it(tmp_path: Path) -> None:
    over = inline(
        "site: {permit: EX-9}\nphases: [{id: walls, end: 2026-12-10}]\n", more="    job: lot.yaml\n"
    )
    put(tmp_path, lot_yaml=SOUND, site_yaml=HEAD + "lots:\n" + over)
    (job,) = jobs(read_site(tmp_path / "site.yaml"))
    alone = load_job(tmp_path / "lot.yaml")
    assert (job.site.permit, job.site.lot) == ("EX-9", "Lot 1")
    assert [str(phase.end) for phase in job.phases] == ["2026-12-04", "2026-12-10"]
    assert job.model_copy(update={"site": alone.site, "phases": alone.phases}) == alone


def test_a_job_file_builds_upon_its_own_files_and_not_upon_the_sites(tmp_path: Path) -> None:
    put(tmp_path, lot_yaml=SOUND, other_yaml="company: {name: Another (invented), phone: 555-0100}\n")
    put(tmp_path, site_yaml=HEAD + "shared: [other.yaml]\nlots: [{id: one, job: lot.yaml}]\n")
    assert jobs(read_site(tmp_path / "site.yaml")) == [load_job(tmp_path / "lot.yaml")]


def test_each_name_is_looked_for_beside_the_file_that_says_it(tmp_path: Path) -> None:
    (tmp_path / "lots").mkdir()
    (tmp_path / "tables").mkdir()
    design = "layout: {places: [{id: kit, kind: rescue kit, at: [4 ft, 2 ft], name: Rescue kit}]}\n"
    own = "extends: shared.yaml\nformat: planforge job 1\n" + own_text()
    put(tmp_path / "lots", one_yaml=own, shared_yaml=shared_text())
    put(tmp_path / "tables", design_yaml=design)
    put(tmp_path / "tables", lots_csv="id,job,house.design,house.at\none,../lots/one.yaml,design.yaml,0; 0\n")
    put(tmp_path, site_yaml=HEAD + "table: tables/lots.csv\n")
    source = read_site(tmp_path / "site.yaml").lots[0]
    loaded = load_lot(source)
    assert loaded.model.house is not None
    names = [Path(name).relative_to(tmp_path).as_posix() for name in loaded.files]
    assert names == [
        "site.yaml",
        "tables/lots.csv",
        "lots/one.yaml",
        "lots/shared.yaml",
        "tables/design.yaml",
    ]


def test_a_row_turns_the_house_of_its_job_file(tmp_path: Path) -> None:
    """A cell changes one field of the house; the design is still looked for beside the file that names it."""
    (tmp_path / "lots").mkdir()
    house = "house: {design: design.yaml, at: [4 ft, 10 ft]}\n"
    anchor = "{id: A9, at: [3 ft, 1 ft], elevation: 18 ft, fitting: F, workers: 1}"
    put(tmp_path / "lots", design_yaml=f"layout: {{anchors: [{anchor}]}}\n")
    put(tmp_path / "lots", one_yaml=SOUND + house, two_yaml=SOUND.replace("P-1", "P-2") + house)
    table = (
        "id,job,house.turned,house.mirrored\none,lots/one.yaml,,\ntwo,lots/two.yaml,90 deg,left to right\n"
    )
    put(tmp_path, lots_csv=table, site_yaml=HEAD + "table: lots.csv\n")
    places = []
    for job in jobs(read_site(tmp_path / "site.yaml")):
        places.append(next(anchor.at for anchor in job.layout.anchors if anchor.id == "A9"))
    # mirrored left to right (3, 1) is (-3, 1), and turned a quarter counter-clockwise (-1, -3)
    feet = [tuple(round(v / 0.3048, 9) for v in place or ()) for place in places]
    assert feet == [(4 + 3, 10 + 1), (4 - 1, 10 - 3)]


def test_a_lot_travels_to_another_process(tmp_path: Path) -> None:
    put(
        tmp_path,
        shared_yaml=shared_text(),
        site_yaml=HEAD + "shared: [shared.yaml]\nlots:\n" + inline(own_text()),
    )
    source = read_site(tmp_path / "site.yaml").lots[0]
    packed = pickle.dumps(source)
    assert len(packed) < 10_000
    assert load_lot(pickle.loads(packed)).model == load_lot(source).model


def test_a_fault_of_one_lot_stays_with_it_and_names_its_line(tmp_path: Path) -> None:
    put(tmp_path, shared_yaml=shared_text())
    bad = own_text().replace("end: 2026-12-12", "end: 2026-12-32")
    text = (
        HEAD
        + "shared: [shared.yaml]\nlots:\n"
        + inline(own_text())
        + inline(bad.replace("P-1", "P-2"), "two")
    )
    put(tmp_path, site_yaml=text)
    site = read_site(tmp_path / "site.yaml")
    load_lot(site.lots[0])
    line = next(n for n, line in enumerate(text.splitlines(), 1) if "2026-12-32" in line)
    (fault,) = faults(site, 1)
    assert fault.startswith(f'site.yaml:{line}: phases[1 "walls"].end: found "2026-12-32"')


def test_an_unknown_field_of_a_lot_is_named_with_the_nearest(tmp_path: Path) -> None:
    put(
        tmp_path,
        lot_yaml=SOUND,
        site_yaml=HEAD + "lots:\n  - id: one\n    job: lot.yaml\n    site: {permitt: EX-9}\n",
    )
    (fault,) = faults(read_site(tmp_path / "site.yaml"))
    assert fault == (
        'site.yaml:6: site.permitt: found the unknown field "permitt"; expected a field known here. '
        'Did you mean "permit"?'
    )


def test_what_lots_share_states_nothing_of_one_lot(tmp_path: Path) -> None:
    put(tmp_path, shared_yaml=shared_text() + "slab: {kind: reinforced, pour_date: 2026-10-19}\n")
    put(tmp_path, site_yaml=HEAD + "shared: [shared.yaml]\nlots:\n" + inline(own_text()))
    (fault,) = faults(read_site(tmp_path / "site.yaml"))
    assert "shared.yaml:" in fault
    assert "slab.pour_date: found a field of one lot; expected only what lots share" in fault


@pytest.mark.parametrize(
    ("lot", "message"),
    [
        (
            "{id: one, job: no.yaml}",
            'site.yaml:4: job: found "no.yaml", which does not exist; expected the name of a job file. '
            "Correct the name, or put the file there.",
        ),
        (
            "{id: one, job: /etc/lot.yaml}",
            'site.yaml:4: job: found "/etc/lot.yaml"; expected a path relative to this file. '
            "Write the path from this file's folder, such as ../house.yaml.",
        ),
        (
            "{id: one, job: [a.yaml, b.yaml]}",
            "site.yaml:4: job: found a list of 2; expected the name of a job file. "
            "Write a relative path such as lots/lot_14.yaml, or delete the line.",
        ),
        (
            "{id: one, job: lot.yaml, extends: a.yaml}",
            "site.yaml:4: extends: found extends beside job; expected one of the two. "
            "Name the files under extends in the job file, or delete job.",
        ),
    ],
)
def test_a_lots_files_in_plain_words(lot: str, message: str, tmp_path: Path) -> None:
    put(tmp_path, lot_yaml=SOUND, site_yaml=f"{HEAD}lots:\n  - {lot}\n")
    assert message in faults(read_site(tmp_path / "site.yaml"))


def test_two_lots_with_one_plan_number_are_both_held(tmp_path: Path) -> None:
    text = (
        HEAD
        + "lots:\n  - {id: a, plan: {number: AF-1}}\n  - {id: b, plan: {number: AF-2}}\n"
        + '  - {id: c, plan: {number: " af-1"}}\n'
    )
    put(tmp_path, site_yaml=text)
    site = read_site(tmp_path / "site.yaml")
    assert faults(site, 0) == [
        'site.yaml:4: plan.number: found "AF-1", which lot c states as well (site.yaml:6); '
        "expected a number for each plan. Give each lot's plan a number of its own."
    ]
    assert faults(site, 2)[0].startswith(
        'site.yaml:6: plan.number: found "af-1", which lot a states as well (site.yaml:4)'
    )
    assert not site.lots[1].problems


def test_one_job_file_is_one_lots(tmp_path: Path) -> None:
    put(
        tmp_path,
        lot_yaml=SOUND,
        site_yaml=HEAD + "lots:\n  - {id: a, job: lot.yaml}\n  - {id: b, job: ./lot.yaml}\n",
    )
    (fault,) = faults(read_site(tmp_path / "site.yaml"), 1)
    assert fault.startswith('site.yaml:5: job: found "./lot.yaml", which lot a states as well (site.yaml:4)')


@pytest.mark.parametrize(
    ("text", "messages"),
    [
        (
            "site: S\nlots: [{id: a}]\n",
            [
                "site.yaml:1: format: found nothing; expected this field (the form of the file: `planforge "
                'site 1`). Add the line "format:".'
            ],
        ),
        (
            HEAD + "lotz: [{id: a}]\n",
            [
                'site.yaml:3: lotz: found the unknown field "lotz"; expected a field known here. Did '
                'you mean "lots"?'
            ],
        ),
        (
            HEAD + "lots:\n  - {id: a}\n  - {job: b.yaml}\n",
            [
                "site.yaml:5: lots[1].id: found nothing; expected this field (a short name for the lot, each "
                'once in a site: in lists, in a table and in messages). Add the line "id:" under lots[1].'
            ],
        ),
        (
            HEAD + "lots:\n  - {id: a}\n  - {id: A}\n",
            [
                'site.yaml:5: id: found the id "A" a second time (first at site.yaml:4); expected each lot '
                "once in a site. Give one of the two another id, or delete it."
            ],
        ),
        (
            HEAD,
            [
                "site.yaml:1: lots: found no lot; expected a lot at least. List the lots under lots, "
                "or name a "
                "table that lists them."
            ],
        ),
        (
            HEAD + "table: no.csv\n",
            [
                'site.yaml:3: table.file: found "no.csv", which does not exist; expected the name of '
                "a table. "
                "Correct the name, or put the file there."
            ],
        ),
        (
            HEAD + "kits: /srv/kits.yaml\nlots: [{id: a}]\n",
            [
                'site.yaml:3: kits: found "/srv/kits.yaml"; expected a path relative to this file. '
                "Write the path from this file's folder, such as lots.csv."
            ],
        ),
        (
            HEAD + "lots:\n  - heron-14\n",
            [
                'site.yaml:4: lots[0]: found "heron-14"; expected a group of fields. Write its fields on the '
                "lines below, indented by two spaces."
            ],
        ),
        (
            HEAD + "lots: [{id: a, a: &x 1}]\n",
            [
                'site.yaml:3: found "&x", a name for later reference; expected a plain value. Delete '
                "it, or put the text in single quotes."
            ],
        ),
        (
            "",
            [
                "site.yaml: found an empty file; expected the fields of a site. Write the site, "
                "field by field."
            ],
        ),
    ],
)
def test_a_fault_of_the_site_itself(text: str, messages: list[str], tmp_path: Path) -> None:
    assert refused(tmp_path, text) == messages


def test_a_site_has_its_own_bounds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lots = "".join(f"  - {{id: a{n}, job: lots/a{n}.yaml, site: {{permit: EX-{n}}}}}\n" for n in range(2_000))
    put(tmp_path, site_yaml=HEAD + "lots:\n" + lots)
    assert len(read_site(tmp_path / "site.yaml").lots) == 2_000
    many = "".join(f"  - {{id: a{n}}}\n" for n in range(model.MAX_LOTS + 1))
    assert "found 5,001 lots; expected at most 5,000 lots" in refused(tmp_path, HEAD + "lots:\n" + many)[0]
    (fault,) = refused(tmp_path, HEAD + "#" * (24 << 20))
    assert fault == (
        "site.yaml: found more than 24 MiB; expected a site file of at most 24 MiB. "
        "Check that this is the site file; keep long lots in job files of their own."
    )


@pytest.mark.parametrize(
    ("text", "site"),
    [
        (HEAD, True),
        ("# note\nsite: S\nformat: 'planforge site 1'\n", True),
        ("\ufeffformat: planforge site 9\n", True),
        ("format: planforge job 1\nsite: {project: planforge site 1}\n", False),
        ("notes: |\n  format: planforge site 1\n", False),
        ("", False),
    ],
)
def test_a_site_file_is_known_by_its_format(text: str, site: bool, tmp_path: Path) -> None:
    put(tmp_path, x_yaml=text)
    assert is_site(tmp_path / "x.yaml") is site


def test_no_file_is_no_site(tmp_path: Path) -> None:
    assert not is_site(tmp_path)
    assert not is_site(tmp_path / "none.yaml")


def test_faults_of_the_head_the_table_and_the_lots_ids_are_told_in_one_run(tmp_path: Path) -> None:
    put(tmp_path, lots_csv="id,site.permitt\nthree,1\n")
    text = HEAD + "kits: /srv/kits.yaml\nkit: [1]\ntable: lots.csv\nlots: [{id: a}, {id: a}]\n"
    found = refused(tmp_path, text)
    assert [fault.split(": found")[0] for fault in found] == [
        "lots.csv:1: (cell B1)",
        "site.yaml:3: kits",
        "site.yaml:4: kit",
        "site.yaml:6: id",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "lot: [{id: a}]\n",  # misspelt: not that there were no lot
        "lots: [a]\n",
        "lots: [{id: a b}]\n",
        "table: {fil: lots.csv}\n",
    ],
)
def test_lots_that_cant_be_read_are_not_called_missing(text: str, tmp_path: Path) -> None:
    assert not [fault for fault in refused(tmp_path, HEAD + text) if "no lot;" in fault]
