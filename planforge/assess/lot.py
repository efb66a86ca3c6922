"""What belongs to one lot: address, slab, lower levels, power lines, weather."""

from __future__ import annotations

from planforge.assess.finding import Finding, Verdict, found, keeps, stated, vouched, worst
from planforge.assess.index import Index
from planforge.assess.power_lines import measured_note, to_equipment
from planforge.assess.scan import scan_finding
from planforge.codes.profile import Profile
from planforge.job.site import OverheadLine
from planforge.job.slab import Slab
from planforge.units import Display


def assess_lot(index: Index, profile: Profile) -> list[Finding]:
    """Every check that rests on this lot's own facts."""
    job = index.job
    address = bool(job.site.address and job.site.gate)
    findings = [
        found(
            "site.address",
            "lot",
            stated(address),
            value=f"{job.site.address}; {job.site.gate}" if address else "address or gate not stated",
            note="" if address else "State site.address and site.gate.",
        ),
        found(
            "site.permit",
            "lot",
            stated(job.site.permit, otherwise=Verdict.CONFIRM),
            value=job.site.permit or "not stated",
        ),
        found(
            "lower_levels.stated",
            "lot",
            stated(job.lower_levels),
            value=f"{len(job.lower_levels)} stated" if job.lower_levels else "none stated",
            note=""
            if job.lower_levels
            else "State under lower_levels what lies below each side, with dates.",
        ),
    ]
    findings += [*_slab(job.slab, bool(job.layout.posts)), scan_finding(index)]
    return findings + _power(index, profile) + _weather(index)


def _slab(slab: Slab | None, posts: bool) -> list[Finding]:
    if not posts:
        return [
            found(check, "slab", Verdict.NOT_APPLICABLE, note="No post stands on it.")
            for check in ("slab.known", "slab.pour", "slab.located")
        ]
    if slab is None:
        return [
            found(check, "slab", Verdict.SHORT, value="not stated", note="State the part slab for this lot.")
            for check in ("slab.known", "slab.pour", "slab.located")
        ]
    known = slab.kind != "unknown" and slab.thickness is not None
    pour = found(
        "slab.pour",
        "slab",
        vouched(stated(slab.pour_date and slab.strength), slab.strength),
        value=f"poured {slab.pour_date}" if slab.pour_date else "pour date not stated",
        note=""
        if slab.pour_date and slab.strength
        else "State slab.pour_date and slab.strength for this lot.",
    )
    needs_scan = slab.kind in ("post-tensioned", "unknown")
    located = slab.scan is not None if needs_scan else slab.contents is not None
    if slab.scan is not None:
        said = f"scanned by {slab.scan.by}, {slab.scan.on}, {slab.scan.method}"
    elif needs_scan:
        said = f"{slab.kind} slab without a scan on this lot: nobody drills"
    else:
        said = "contents stated" if located else "contents not stated: nobody drills"
    return [
        found(
            "slab.known",
            "slab",
            stated(known),
            value=slab.kind if slab.kind != "unknown" else "unknown kind",
            note="" if known else "State slab.kind and slab.thickness.",
        ),
        pour,
        found(
            "slab.located",
            "slab",
            stated(located and slab.contents is not None),
            value=said,
            note="" if located else "Record slab.contents and slab.scan: by whom, when, how, how exactly.",
        ),
    ]


def _power(index: Index, profile: Profile) -> list[Finding]:
    survey, radius = index.job.power_lines, profile.limits["power_line_survey"]
    if survey is None:
        return [
            found(
                "power.survey",
                "lot",
                Verdict.SHORT,
                value="not surveyed",
                limit=radius.value,
                unit="m",
                sense="at least",
                note="State power_lines: who looked, when, how far around, and every line found.",
            )
        ]
    high = any(_is_high(line, profile) for line in survey.lines)
    radius = profile.limits["power_line_survey_high"] if high else radius
    far_enough = keeps(survey.radius, radius.value, "at least")
    seen = found(
        "power.survey",
        "lot",
        far_enough if radius.settled else worst(far_enough, Verdict.CONFIRM),
        value=survey.radius,
        limit=radius.value,
        unit="m",
        sense="at least",
        source=radius.source,
        note=f"By {index.person(survey.surveyed_by)}, {survey.surveyed}; {len(survey.lines)} line(s) found.",
    )
    wire = _conductive_ropes(index)
    return [seen, *(_distance(index, line, profile, wire) for line in survey.lines)]


def _is_high(line: OverheadLine, profile: Profile) -> bool:
    return line.voltage is not None and line.voltage > profile.limits["power_line_high"].value


def _conductive_ropes(index: Index) -> list[str]:
    """The ropes of the layout's lines that conduct, by id."""
    ropes = [index.ropes[index.systems[line.system].rope] for line in index.job.layout.lines]
    return list(dict.fromkeys(rope.id for rope in ropes if rope.conductive))


def _distance(index: Index, line: OverheadLine, profile: Profile, wire: list[str]) -> Finding:
    """The table's distance; closer than the survey's (20 ft, over 350 kV 50 ft) a control is wanted too."""
    survey = profile.limits["power_line_survey_high" if _is_high(line, profile) else "power_line_survey"]
    distance = to_equipment(index, line)
    table = profile.power_line_distance(line.voltage) if line.voltage is not None else None
    if table is None:
        limit, source = survey.value, survey.source
        notes = ["The voltage is not stated or beyond the table: the utility decides."]
    else:
        limit, source = table, profile.power_line_source
        notes = [line.control] if line.control else []
    display = Display(index.job.site.units)
    measured = measured_note(distance, line.distance, display)
    notes += [measured] if measured else []
    verdict = keeps(distance.value, limit, "at least")
    if table is None:
        verdict = worst(verdict, Verdict.CONFIRM)
    if verdict is Verdict.MEETS and not survey.settled:
        limit, source = survey.value, survey.source
        verdict = Verdict.CONFIRM
        notes.append("Over 350 kV, 50 ft is asked in place of 20 ft: look the rule up, ask the utility.")
    close = distance.value < survey.value
    if verdict is not Verdict.SHORT and close and not line.control:
        verdict = Verdict.CONFIRM
        notes.append(
            f"Within {display.feet(survey.value)}: state the control (spotter, limit line, de-energised)."
        )
    if close and wire:
        verdict = worst(verdict, Verdict.CONFIRM)
        notes.append(
            f"{', '.join(wire)} conducts: no wire rope where an electrical hazard is expected "
            "(29 CFR 1926 Subpart M, Appendix C); the utility and the qualified person decide."
        )
    return found(
        "power.distance",
        line.id,
        verdict,
        value=distance.value,
        limit=limit,
        unit="m",
        sense="at least",
        source=source,
        note=" ".join(notes),
    )


def _weather(index: Index) -> list[Finding]:
    weather = index.job.weather
    if weather is None:
        return [
            found(check, "lot", Verdict.SHORT, value="not stated", note="State the part weather.")
            for check in ("weather.range", "weather.wind")
        ]
    findings = []
    used = {line.system for line in index.job.layout.lines}
    for name in sorted(used):
        system = index.systems[name]
        low, high = system.lowest_temperature, system.highest_temperature
        verdict = Verdict.CONFIRM if low is None or high is None else Verdict.MEETS
        if low is not None:
            verdict = worst(verdict, keeps(weather.coldest, low.value, "at least"))
        if high is not None:
            verdict = worst(verdict, keeps(weather.warmest, high.value, "at most"))
        verdict = vouched(verdict, low, high)
        too_warm = high is not None and weather.warmest > high.value
        value, bound = (weather.warmest, high) if too_warm else (weather.coldest, low)
        findings.append(
            found(
                "weather.range",
                name,
                verdict,
                value=value,
                limit=bound.value if bound else "maker's range not stated",
                unit="K",
                sense="at most" if too_warm else "at least",
                source=(bound.source if bound and bound.source else "manufacturer's instructions"),
            )
        )
    winds = weather.wind_stops_work is not None and weather.wind_stops_erection is not None
    findings.append(
        found(
            "weather.wind",
            "lot",
            stated(winds, otherwise=Verdict.CONFIRM) if weather.source else Verdict.CONFIRM,
            value=weather.wind_stops_work if weather.wind_stops_work is not None else "not stated",
            unit="m/s" if weather.wind_stops_work is not None else "",
            source=weather.source or "manufacturer's instructions",
        )
    )
    return findings
