"""The words of problems (why terms are refused) and of findings (what a draft check says)."""

from __future__ import annotations

from dataclasses import dataclass

from method.terms.models.base import ISO_3668, MEMORY, PRACTICE
from method.words import gettext_noop

PROBLEMS: dict[str, str] = {
    "not_canonical": gettext_noop("The document is not in canonical form: %(detail)s"),
    "schema_unknown": gettext_noop(
        "Schema %(found)s is not known here; this program reads schema %(known)s."
    ),
    "field_missing": gettext_noop("The field is missing."),
    "field_unknown": gettext_noop("There is no such field."),
    "spelling": gettext_noop("The value is not in its one spelling."),
    "not_valid": gettext_noop("The value is not valid here."),
    "not_a_choice": gettext_noop("Choose one of the values offered."),
    "not_an_integer": gettext_noop("Enter a whole number."),
    "not_a_decimal": gettext_noop("Enter a number with a decimal point, such as 0.60."),
    "not_yes_or_no": gettext_noop("Answer yes or no."),
    "not_a_day": gettext_noop("Enter a day as YYYY-MM-DD."),
    "control_character": gettext_noop("The text contains a control character."),
    "too_small": gettext_noop("The value must be %(limit)s or more."),
    "too_large": gettext_noop("The value must be %(limit)s or less."),
    "text_too_long": gettext_noop("The text may have at most %(limit)s characters."),
    "too_many_items": gettext_noop("The list may have at most %(limit)s entries."),
    "wrong_id": gettext_noop("The id does not belong in this list."),
    "id_repeated": gettext_noop("The id is used twice."),
    "pair_repeated": gettext_noop("Another row already decides this pair of findings."),
    "list_override": gettext_noop("A part's list names its own items and those it goes without."),
    "override_empty": gettext_noop("The part's own clause is empty."),
    "is_a_list": gettext_noop("The entries of this list are changed one at a time."),
    "part_unknown": gettext_noop("There is no such part."),
    "item_unknown": gettext_noop("There is no such entry."),
    "clause_unknown": gettext_noop("There is no such clause."),
}


@dataclass(frozen=True)
class FindingWords:
    """What a finding says, why it matters (its source), and how to mend it."""

    text: str
    mend: str
    source: str


_JUDGE = gettext_noop("follows from how evidence is judged")
_KEYS = gettext_noop("follows from who holds the key")
_ISO_14253 = gettext_noop("ISO 14253-1 (from memory)")

FINDINGS: dict[str, FindingWords] = {
    "no_parts": FindingWords(
        gettext_noop("The terms name no part."),
        gettext_noop("Add at least one part with its number and colour."),
        _JUDGE,
    ),
    "no_decision_basis": FindingWords(
        gettext_noop("Nothing decides: no row of the combination table gives an outcome."),
        gettext_noop("Choose a combination table in the clause on decision."),
        _JUDGE,
    ),
    "instrument_never_used": FindingWords(
        gettext_noop("The table needs an instrument, but the terms do without one."),
        gettext_noop("Require an instrument, or let the panel decide alone."),
        _JUDGE,
    ),
    "visual_without_panel": FindingWords(
        gettext_noop("The eye decides, but no panel is described."),
        gettext_noop("State the panel size and the panel rule."),
        _JUDGE,
    ),
    "panel_number_too_large": FindingWords(
        gettext_noop("%(number)s observers must accept, but the panel has %(size)s."),
        gettext_noop("Lower the number or enlarge the panel."),
        _JUDGE,
    ),
    "no_tolerance": FindingWords(
        gettext_noop("The instrument decides, but there is no tolerance."),
        gettext_noop("Add a tolerance with its condition and limit."),
        _JUDGE,
    ),
    "tolerance_unfinished": FindingWords(
        gettext_noop("A tolerance leaves open: %(fields)s."),
        gettext_noop("Fill in every field of the tolerance but the warning level."),
        _JUDGE,
    ),
    "measurement_unfinished": FindingWords(
        gettext_noop("The measurement leaves open: %(fields)s."),
        gettext_noop("State them in the clause on measurement."),
        _JUDGE,
    ),
    "target_unsaid": FindingWords(
        gettext_noop("Readings are compared with a target, but none is named."),
        gettext_noop("Name the target in the clause on references."),
        _JUDGE,
    ),
    "uncertainty_unsaid": FindingWords(
        gettext_noop("The instrument decides, but the uncertainty is not declared."),
        gettext_noop("Declare U and its coverage factor in the clause on decision."),
        _ISO_14253,
    ),
    "no_acceptance_zone": FindingWords(
        gettext_noop("The uncertainty %(uncertainty)s leaves no acceptance zone below %(limit)s."),
        gettext_noop("Widen the limit or lower the uncertainty."),
        _ISO_14253,
    ),
    "rule_unsaid": FindingWords(
        gettext_noop("The decision rules leave open: %(fields)s."),
        gettext_noop("State the rules at release and at rejection, and who carries the zone."),
        _ISO_14253,
    ),
    "rounding_unsaid": FindingWords(
        gettext_noop("Rounding before comparison is not named."),
        gettext_noop("Name the rounding in the clause on decision."),
        gettext_noop("ASTM E29 (from memory)"),
    ),
    "sampling_unsaid": FindingWords(
        gettext_noop("It is not said which pieces of a lot are judged."),
        gettext_noop("State the sampling, with n and Ac where the number is fixed."),
        _JUDGE,
    ),
    "acceptance_number_too_large": FindingWords(
        gettext_noop("Acceptance number %(number)s with %(size)s pieces accepts every lot."),
        gettext_noop("Choose an acceptance number below the sample size."),
        _JUDGE,
    ),
    "days_without_calendar": FindingWords(
        gettext_noop("Days are counted without a calendar; open: %(fields)s."),
        gettext_noop("State the kind of days, the time zone and the working days."),
        _JUDGE,
    ),
    "zone_unknown": FindingWords(
        gettext_noop("The time zone %(zone)s is not known."),
        gettext_noop("Use a name from the IANA list, for example Europe/Berlin."),
        _JUDGE,
    ),
    "window_without_event": FindingWords(
        gettext_noop("The window to reject runs from no event."),
        gettext_noop("Let it run from receipt, opening or assembly."),
        _JUDGE,
    ),
    "zone_is_nobodys": FindingWords(
        gettext_noop("The rules at release and at rejection are the same: the zone is nobody's."),
        gettext_noop("Say who carries the zone between the limits at rejection."),
        _ISO_14253,
    ),
    "reference_unlike_part": FindingWords(
        gettext_noop("The reference need not be like the part in: %(aspects)s."),
        gettext_noop("Ask for these, or approve a moulded or painted piece at first article."),
        PRACTICE,
    ),
    "flat_reference_for_translucent": FindingWords(
        gettext_noop("A flat opaque reference is named for a part that lets light through."),
        gettext_noop("Approve a moulded plaque of the part's thickness at first article."),
        PRACTICE,
    ),
    "designation_without_edition": FindingWords(
        gettext_noop("The reference is named by number without edition and variant."),
        gettext_noop("State edition and variant: numbers change meaning between editions."),
        PRACTICE,
    ),
    "not_physical": FindingWords(
        gettext_noop("The only reference is a screen or numbers."),
        gettext_noop("Agree on a physical piece as master."),
        PRACTICE,
    ),
    "no_replacement": FindingWords(
        gettext_noop("References never expire."),
        gettext_noop("State after how many months they are replaced; twelve is usual."),
        PRACTICE,
    ),
    "no_retained_pieces": FindingWords(
        gettext_noop("No pieces are retained for disputes."),
        gettext_noop("Let the supplier retain some pieces of each lot."),
        PRACTICE,
    ),
    "no_first_article": FindingWords(
        gettext_noop("No first article is approved before lots are released."),
        gettext_noop("Require a first article."),
        PRACTICE,
    ),
    "effect_single_geometry": FindingWords(
        gettext_noop("An effect finish is measured in one geometry only."),
        gettext_noop("Measure at several aspecular angles."),
        gettext_noop("ASTM E2194 (from memory)"),
    ),
    "effect_without_angles": FindingWords(
        gettext_noop("An effect finish is viewed without stated angles."),
        gettext_noop("State at least two viewing angles."),
        PRACTICE,
    ),
    "fluorescent_other_illuminant": FindingWords(
        gettext_noop("A fluorescent colour is judged by numbers under a computed illuminant."),
        gettext_noop("Keep numbers for the light that the instrument really shines."),
        PRACTICE,
    ),
    "translucent_without_backing": FindingWords(
        gettext_noop("The part lets light through, but the backing is not stated."),
        gettext_noop("State the backing for viewing and for measuring."),
        PRACTICE,
    ),
    "no_secondary_illuminant": FindingWords(
        gettext_noop("There is no secondary illuminant: metamerism goes unseen."),
        gettext_noop("Add a light unlike the first, such as illuminant A."),
        ISO_3668,
    ),
    "interior_not_neutral": FindingWords(
        gettext_noop("The booth's interior may be as coloured as a* or b* %(value)s."),
        gettext_noop("Allow at most 10 in amount."),
        ISO_3668,
    ),
    "interior_unsaid": FindingWords(
        gettext_noop("It is not said how neutral the booth's interior is."),
        gettext_noop("Allow at most 10 in amount for a* and b*."),
        ISO_3668,
    ),
    "light_unsaid": FindingWords(
        gettext_noop("The eye decides, but the viewing leaves open: %(fields)s."),
        gettext_noop("State the light in the clause on viewing."),
        ISO_3668,
    ),
    "frame_unsaid": FindingWords(
        gettext_noop("It is not said how specimen and reference are presented."),
        gettext_noop("State a neutral frame or contact edge to edge."),
        PRACTICE,
    ),
    "one_observer": FindingWords(
        gettext_noop("A single observer decides."),
        gettext_noop("Let at least two qualified observers judge."),
        PRACTICE,
    ),
    "no_score": FindingWords(
        gettext_noop("Nothing is asked of the observers' colour discrimination."),
        gettext_noop("State the greatest total error score of the hue arrangement test."),
        gettext_noop("ASTM E1499 (from memory)"),
    ),
    "no_retest": FindingWords(
        gettext_noop("An observer's test never expires."),
        gettext_noop("State after how many months it is repeated."),
        PRACTICE,
    ),
    "places_unsaid": FindingWords(
        gettext_noop("The measurement leaves open: %(fields)s."),
        gettext_noop(
            "State places, orientation, age and wavelengths, so that both sides read alike."
        ),
        PRACTICE,
    ),
    "no_strata": FindingWords(
        gettext_noop("The sample is taken without strata, but deviating pieces come in clumps."),
        gettext_noop("Take pieces from each batch, rack, cavity or time."),
        PRACTICE,
    ),
    "no_evidence_due": FindingWords(
        gettext_noop("No evidence is due for release."),
        gettext_noop("State what the supplier hands in."),
        PRACTICE,
    ),
    "silence_unsaid": FindingWords(
        gettext_noop("It is not said what silence means when the window passes."),
        gettext_noop("State the effect of silence."),
        PRACTICE,
    ),
    "no_change_notice": FindingWords(
        gettext_noop("No change has to be announced."),
        gettext_noop("Ask for notice of changes of pigment, resin, tool, line or site."),
        PRACTICE,
    ),
    "no_signatory": FindingWords(
        gettext_noop("No signatory is named for: %(sides)s."),
        gettext_noop("Name who signs for each side."),
        PRACTICE,
    ),
    "no_deputy": FindingWords(
        gettext_noop("No deputy is named for: %(sides)s."),
        gettext_noop("Name a deputy, so that leave does not stop a release."),
        PRACTICE,
    ),
    "no_language": FindingWords(
        gettext_noop("No governing language is named."),
        gettext_noop("Name the language that decides where translations differ."),
        MEMORY,
    ),
    "service_held_keys": FindingWords(
        gettext_noop("A key that this service holds signs: whoever runs it could forge it."),
        gettext_noop("Ask for keys of the signatories' own in the clause on signing."),
        _KEYS,
    ),
    "signing_keys_unsaid": FindingWords(
        gettext_noop("It is not said which keys sign: a key that this service holds does not."),
        gettext_noop("State the keys that sign in the clause on signing."),
        _KEYS,
    ),
    "mating_part_unnamed": FindingWords(
        gettext_noop("A tolerance compares with a mating part, but none is named."),
        gettext_noop("Name the mating part in the clause on scope."),
        _JUDGE,
    ),
}
