"""Evidence check of booth sittings: lights, booth, reference, panel."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from ledger.canonical import decimal_text
from method.facts import BoothFacts, Light
from method.reasons import Reason, because
from method.routing_references import comparator_reasons
from method.submission import Sitting, Submission
from method.terms.models import Viewing
from method.verdict.panel import Heard, PanelAnswer
from method.verdict.rules import Rules

DAYLIGHT = ("D50", "D65")


def viewing_reasons(
    submission: Submission,
    rules: Rules,
    heard: tuple[Heard, ...],
    answers: tuple[PanelAnswer, ...],
) -> Iterator[Reason]:
    """Everything about the sittings that is unlike clauses 2, 3 and 4.

    A sitting in which nothing counts is shown, and neither helps nor harms.
    """
    if not any(sitting.judgements for sitting in submission.sittings):
        yield because("sitting_missing")
        return
    used = {one.sitting.id for one in heard if one.counts}
    booths = {booth.id: booth for booth in submission.conditions.booths}
    for sitting in submission.sittings:
        if sitting.id in used:
            yield from _lights(sitting, booths[sitting.booth], rules.clauses.viewing)
            yield from _booth(sitting, booths[sitting.booth], rules.clauses.viewing)
            yield from _conduct(sitting, rules)
            yield from comparator_reasons(sitting, submission, rules.clauses.references)
    yield from _coverage(heard, rules.clauses.viewing)
    yield from _panel(answers, rules)


def _due_lights(clause: Viewing) -> tuple[str, ...]:
    first = () if clause.primary is None else (clause.primary,)
    return (*first, *clause.secondary)


def _lights(sitting: Sitting, booth: BoothFacts, clause: Viewing) -> Iterator[Reason]:
    """Each light used, as the booth's records have it on the day; the primary one is due."""
    if clause.primary is not None and clause.primary not in sitting.illuminants:
        yield because("sitting_without_light", day=sitting.day, illuminant=clause.primary)
    known = {light.illuminant: light for light in booth.lights}
    for illuminant in sitting.illuminants:
        if illuminant in known:
            yield from _hours(known[illuminant], sitting, booth, clause)
            yield from _illuminance(known[illuminant], booth, clause)
            yield from _category(known[illuminant], booth, clause)
        else:
            yield because("booth_light_unknown", booth=booth.code, illuminant=illuminant)


def _hours(light: Light, sitting: Sitting, booth: BoothFacts, clause: Viewing) -> Iterator[Reason]:
    """Lamp hours against the terms' limit, and against the owner's own where one is kept."""
    limits = [one for one in (clause.lamp_hours_max, light.lamp_limit) if one is not None]
    where = {"booth": booth.code, "illuminant": light.illuminant}
    if light.lamp_hours is None:
        if clause.lamp_hours_max is not None:
            yield because("booth_hours_unknown", **where)
    elif limits and light.lamp_hours > min(limits):
        hours = str(light.lamp_hours)
        yield because("booth_hours_over", day=sitting.day, hours=hours, limit=min(limits), **where)


def _illuminance(light: Light, booth: BoothFacts, clause: Viewing) -> Iterator[Reason]:
    least, most, lux = clause.illuminance_min_lx, clause.illuminance_max_lx, light.illuminance_lux
    where = {"booth": booth.code, "illuminant": light.illuminant}
    if least is None and most is None:
        return
    if lux is None:
        yield because("booth_illuminance_unknown", **where)
    elif (least is not None and lux < least) or (most is not None and lux > most):
        texts = {"least": _shown(least), "most": _shown(most), "lux": decimal_text(lux)}
        yield because("booth_illuminance_outside", **where, **texts)


def _category(light: Light, booth: BoothFacts, clause: Viewing) -> Iterator[Reason]:
    """Simulator categories of the daylights; A is the best and sorts first."""
    if light.illuminant not in DAYLIGHT:
        return
    where = {"booth": booth.code, "illuminant": light.illuminant}
    found, agreed = light.category, clause.simulator_category
    if agreed is not None and found is None:
        yield because("booth_category_unknown", **where)
    elif agreed is not None and found is not None and found > agreed:
        yield because("booth_category_below", found=found, agreed=agreed, **where)
    found, agreed = light.category_uv, clause.simulator_category_uv
    if agreed is not None and found is None:
        yield because("booth_category_uv_unknown", **where)
    elif agreed is not None and found is not None and found > agreed:
        yield because("booth_category_uv_below", found=found, agreed=agreed, **where)


def _booth(sitting: Sitting, booth: BoothFacts, clause: Viewing) -> Iterator[Reason]:
    interval, checked = clause.check_interval_days, booth.checked_on
    if interval is not None and (checked is None or checked > sitting.day):
        yield because("booth_check_missing", booth=booth.code, day=sitting.day)
    elif interval is None or checked is None:
        pass
    elif sitting.day > checked + timedelta(days=interval):
        yield because("booth_check_overdue", booth=booth.code, checked=checked, day=sitting.day)
    yield from _interior(booth, clause)


def _interior(booth: BoothFacts, clause: Viewing) -> Iterator[Reason]:
    least, most, widest = clause.interior_l_min, clause.interior_l_max, clause.interior_ab_max
    if least is None and most is None and widest is None:
        return
    lab = booth.interior
    if lab is None:
        yield because("booth_interior_unknown", booth=booth.code)
        return
    outside = (
        (least is not None and least > lab.L)
        or (most is not None and most < lab.L)
        or (widest is not None and max(abs(lab.a), abs(lab.b)) > widest)
    )
    if outside:
        yield because(
            "booth_interior_outside",
            booth=booth.code,
            l_star=decimal_text(lab.L),
            a_star=decimal_text(lab.a),
            b_star=decimal_text(lab.b),
            least=_shown(least),
            most=_shown(most),
            ab=_shown(widest),
        )


def _conduct(sitting: Sitting, rules: Rules) -> Iterator[Reason]:
    """Warm-up and adaptation, where the sitting states them."""
    least, said = rules.clauses.viewing.warm_up_minutes, sitting.warm_up_minutes
    if least is not None and said is not None and said < least:
        yield because("warm_up_short", minutes=said, day=sitting.day, least=least)
    least, said = rules.clauses.observers.adaptation_minutes, sitting.adaptation_minutes
    if least is not None and said is not None and said < least:
        yield because("adaptation_short", minutes=said, day=sitting.day, least=least)


def _coverage(heard: tuple[Heard, ...], clause: Viewing) -> Iterator[Reason]:
    """Every specimen with a counted judgement has one under each light that is due."""
    lights: dict[str, set[str]] = {}
    for one in heard:
        if one.counts:
            light = one.judgement.illuminant
            under = one.sitting.illuminants if light is None else (light,)
            lights.setdefault(one.judgement.specimen, set()).update(under)
    for specimen in sorted(lights):
        for illuminant in _due_lights(clause):
            if illuminant not in lights[specimen]:
                yield because("light_not_judged", specimen=specimen, illuminant=illuminant)


def _panel(answers: tuple[PanelAnswer, ...], rules: Rules) -> Iterator[Reason]:
    """Specimens due with a whole panel; specimens beyond those due may have fewer."""
    due = rules.needed("visual")
    whole = [answer for answer in answers if answer.counted >= rules.panel.size]
    if len(answers) < due:
        yield because("specimens_judged_too_few", specimens=len(answers), needed=due)
    if len(whole) < min(due, len(answers)):
        for answer in answers:
            if answer.counted < rules.panel.size:
                yield because(
                    "panel_too_small",
                    specimen=answer.specimen,
                    counted=answer.counted,
                    needed=rules.panel.size,
                )


def _shown(value: object) -> str:
    return "" if value is None else str(value)
