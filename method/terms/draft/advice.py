"""Warnings and advice: drafts that can be judged by, but that experience warns of."""

from __future__ import annotations

from method.terms.combination import decides_by_eye, decides_by_instrument
from method.terms.draft.finding import Finding, Findings, Severity, open_in
from method.terms.models import Resolved
from method.terms.models.changes import SIDE_WORDS
from method.terms.models.references import MATCH_WORDS
from method.terms.signing import service_held_allowed_in

NEUTRAL_AB = 10  # ISO 3668:2017, 5.2: a* and b* of the interior below 10 in amount
FLAT = ("painted_panel", "reference_chip", "textile_swatch", "printed_sheet")


def reference(clauses: Resolved) -> Findings:
    """The reference is unlike the part, vaguely named, or no physical thing."""
    references = clauses.references
    aspects = ("substrate", "thickness", "finish")
    missing = tuple(MATCH_WORDS[one] for one in aspects if one not in references.must_match)
    if references.kind in FLAT and clauses.scope.translucency not in (None, "opaque"):
        yield Finding("flat_reference_for_translucent", "warning", "references")
    elif missing and references.kind != "approved_part":
        params = {"aspects": missing}
        yield Finding("reference_unlike_part", "warning", "references", params=params)
    if references.kind in ("reference_chip", "printed_sheet") and not references.edition:
        yield Finding("designation_without_edition", "warning", "references")
    if references.kind in ("screen", "numbers"):
        yield Finding("not_physical", "warning", "references")


def keeping(clauses: Resolved) -> Findings:
    """References that never expire, nothing retained, no approval step."""
    references = clauses.references
    if references.replacement_months is None:
        yield Finding("no_replacement", "warning", "references")
    if not references.retained_pieces:
        yield Finding("no_retained_pieces", "advice", "references")
    if not references.first_article_required:
        yield Finding("no_first_article", "warning", "references")


def special_colours(clauses: Resolved) -> Findings:
    """Effect finishes, fluorescent colours and parts that let light through."""
    scope, measured = clauses.scope, decides_by_instrument(clauses.decision)
    if scope.effect_class in ("metallic", "pearlescent"):
        if measured and len(clauses.measurement.geometries) < 2:
            yield Finding("effect_single_geometry", "warning", "measurement")
        if decides_by_eye(clauses.decision) and len(clauses.viewing.angles) < 2:
            yield Finding("effect_without_angles", "warning", "viewing")
    if scope.effect_class == "fluorescent" and measured:
        for item in clauses.tolerances.items:
            yield Finding("fluorescent_other_illuminant", "warning", "tolerances", item.id)
    if scope.translucency not in (None, "opaque"):
        if decides_by_eye(clauses.decision) and clauses.viewing.backing is None:
            yield Finding("translucent_without_backing", "warning", "viewing")
        if measured and clauses.measurement.backing is None:
            yield Finding("translucent_without_backing", "warning", "measurement")


def viewing(clauses: Resolved) -> Findings:
    """Light, interior and presentation where the eye decides."""
    if not decides_by_eye(clauses.decision):
        return
    names = ("primary", "simulator_category", "illuminance_min_lx", "illuminance_max_lx")
    fields = open_in(clauses, "viewing", *names)
    if fields:
        yield Finding("light_unsaid", "warning", "viewing", params={"fields": fields})
    if not clauses.viewing.secondary:
        yield Finding("no_secondary_illuminant", "warning", "viewing")
    amount = clauses.viewing.interior_ab_max
    if amount is None:
        yield Finding("interior_unsaid", "warning", "viewing")
    elif amount > NEUTRAL_AB:
        yield Finding("interior_not_neutral", "warning", "viewing", params={"value": str(amount)})
    if clauses.viewing.frame is None:
        yield Finding("frame_unsaid", "advice", "viewing")


def observers(clauses: Resolved) -> Findings:
    """Who judges where the eye decides."""
    if not decides_by_eye(clauses.decision):
        return
    people = clauses.observers
    if people.panel_size == 1:
        yield Finding("one_observer", "warning", "observers")
    if people.greatest_score_panel is None:
        yield Finding("no_score", "warning", "observers")
    if people.retest_months is None:
        yield Finding("no_retest", "warning", "observers")


def numbers(clauses: Resolved) -> Findings:
    """Rounding, the zone, places and wavelengths where the instrument decides."""
    if not decides_by_instrument(clauses.decision):
        return
    if clauses.decision.rounding is None:
        yield Finding("rounding_unsaid", "warning", "decision")
    if clauses.decision.zone_at_rejection == "nobody":
        yield Finding("zone_is_nobodys", "advice", "decision")
    grid = ("grid_start_nm", "grid_end_nm", "grid_step_nm")
    fields = open_in(clauses, "measurement", "places", "orientation", "age_hours_min", *grid)
    if fields:
        yield Finding("places_unsaid", "advice", "measurement", params={"fields": fields})


def lots(clauses: Resolved) -> Findings:
    """Sampling, evidence and mating parts."""
    if clauses.decision.sampling_kind == "fixed" and not clauses.decision.strata:
        yield Finding("no_strata", "advice", "decision")
    if not any(item.occasion == "release" and item.required for item in clauses.evidence.items):
        yield Finding("no_evidence_due", "warning", "evidence")
    if not clauses.scope.mating_parts:
        for item in clauses.tolerances.items:
            if item.compared_with == "mating_part":
                yield Finding("mating_part_unnamed", "warning", "scope", item.id)


def papers(clauses: Resolved) -> Findings:
    """Silence, change notices, signatories and language."""
    changes = clauses.changes
    if clauses.disputes.reject_window_days is not None and clauses.disputes.silence is None:
        yield Finding("silence_unsaid", "warning", "disputes")
    if not changes.notices:
        yield Finding("no_change_notice", "warning", "changes")
    roles: tuple[tuple[str, str, Severity], ...] = (
        ("no_signatory", "quality_lead", "warning"),
        ("no_deputy", "deputy", "advice"),
    )
    for name, role, severity in roles:
        named = {person.side for person in changes.signatories if person.role == role}
        sides = tuple(words for side, words in SIDE_WORDS.items() if side not in named)
        if sides:
            yield Finding(name, severity, "changes", params={"sides": sides})
    if changes.language is None:
        yield Finding("no_language", "advice", "changes")


def keys(clauses: Resolved) -> Findings:
    """Keys that whoever runs the service could sign with, or nothing said of keys."""
    if service_held_allowed_in(clauses):
        yield Finding("service_held_keys", "advice", "changes")
    elif clauses.changes.signing_keys is None:
        yield Finding("signing_keys_unsaid", "advice", "changes")


ADVICE = (reference, keeping, special_colours, viewing, observers, numbers, lots, papers, keys)
