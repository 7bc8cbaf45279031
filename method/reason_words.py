"""The words of every public reason by id, with the clause each stands under.

An id is never reused for another meaning.
"""

from __future__ import annotations

from dataclasses import dataclass

from method.words import gettext_noop


@dataclass(frozen=True)
class Template:
    """Words of a reason (`%(name)s` parameters) and the clause it stands under."""

    clause: str
    text: str


OBSERVERS: dict[str, Template] = {
    "observer_not_qualified": Template(
        "observers", gettext_noop("not qualified under the agreement on %(day)s")
    ),
    "observer_not_borrowable": Template(
        "observers", gettext_noop("the terms admit no borrowed observers (%(day)s)")
    ),
    "observer_grant_missing": Template(
        "observers", gettext_noop("no grant for this borrowed observer was valid on %(day)s")
    ),
    "judgement_not_counted": Template(
        "observers",
        gettext_noop("%(observer)s was not qualified on %(day)s; the judgement does not count"),
    ),
    "staff_entry_not_counted": Template(
        "observers",
        gettext_noop(
            "judgements of %(observer)s were entered by staff; by the terms they do not count"
        ),
    ),
    "judgements_contradict": Template(
        "observers",
        gettext_noop(
            "%(observer)s both accepted and rejected specimen %(specimen)s under the same light; "
            "neither counts"
        ),
    ),
    "adaptation_short": Template(
        "observers",
        gettext_noop("observers adapted for %(minutes)s minutes on %(day)s; %(least)s are due"),
    ),
    "panel_too_small": Template(
        "observers",
        gettext_noop(
            "specimen %(specimen)s has judgements of %(counted)s observers that count; "
            "%(needed)s are due"
        ),
    ),
}
VIEWING: dict[str, Template] = {
    "sitting_without_light": Template(
        "viewing", gettext_noop("the sitting of %(day)s has no judgement under %(illuminant)s")
    ),
    "light_not_judged": Template(
        "viewing",
        gettext_noop("specimen %(specimen)s has no counted judgement under %(illuminant)s"),
    ),
    "warm_up_short": Template(
        "viewing", gettext_noop("the lamps burnt %(minutes)s minutes on %(day)s; %(least)s are due")
    ),
    "booth_light_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s has no record of a light for %(illuminant)s")
    ),
    "booth_hours_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s: hours of the %(illuminant)s lamps unknown")
    ),
    "booth_hours_over": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: %(illuminant)s lamps at %(hours)s h on %(day)s; at most %(limit)s h"
        ),
    ),
    "booth_check_missing": Template(
        "viewing", gettext_noop("booth %(booth)s: no check on record before %(day)s")
    ),
    "booth_check_overdue": Template(
        "viewing",
        gettext_noop("booth %(booth)s: last checked on %(checked)s, overdue on %(day)s"),
    ),
    "booth_illuminance_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s: illuminance under %(illuminant)s unknown")
    ),
    "booth_illuminance_outside": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: %(lux)s lx under %(illuminant)s; agreed %(least)s to %(most)s lx"
        ),
    ),
    "booth_category_unknown": Template(
        "viewing",
        gettext_noop("booth %(booth)s: visible category of the %(illuminant)s light unknown"),
    ),
    "booth_category_below": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: the %(illuminant)s light is of visible category %(found)s; "
            "agreed %(agreed)s or better"
        ),
    ),
    "booth_category_uv_unknown": Template(
        "viewing",
        gettext_noop("booth %(booth)s: UV category of the %(illuminant)s light unknown"),
    ),
    "booth_category_uv_below": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: the %(illuminant)s light is of UV category %(found)s; "
            "agreed %(agreed)s or better"
        ),
    ),
    "booth_interior_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s: colour of the interior unknown")
    ),
    "booth_interior_outside": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: interior L* %(l_star)s, a* %(a_star)s, b* %(b_star)s; agreed L* "
            "%(least)s to %(most)s, a* and b* at most %(ab)s in amount"
        ),
    ),
}
REFERENCES: dict[str, Template] = {
    "comparator_missing": Template(
        "references", gettext_noop("the sitting of %(day)s names no reference")
    ),
    "reference_expired": Template(
        "references",
        gettext_noop("reference %(reference)s expired on %(expires)s; used on %(day)s"),
    ),
    "reference_expiry_unknown": Template(
        "references", gettext_noop("reference %(reference)s has no expiry on record")
    ),
    "reference_kind_unlike": Template(
        "references",
        gettext_noop("reference %(reference)s is of kind %(found)s; agreed: %(agreed)s"),
    ),
    "reference_unlike_part": Template(
        "references",
        gettext_noop("reference %(reference)s is not said to be like the part in: %(field)s"),
    ),
    "reference_drifted": Template(
        "references",
        gettext_noop("reference %(reference)s has drifted by %(drift)s; at most %(limit)s"),
    ),
    "reference_apart": Template(
        "references",
        gettext_noop(
            "duplicate %(reference)s differs from the master by %(difference)s; at most %(limit)s"
        ),
    ),
    "target_offset_missing": Template(
        "references",
        gettext_noop("the duplicate's offset under %(illuminant)s is not on record"),
    ),
    "target_missing": Template(
        "references", gettext_noop("no target reading for comparison with %(compared_with)s")
    ),
    "target_unlike": Template(
        "references", gettext_noop("the target is a %(source)s; agreed: %(agreed)s")
    ),
    "article_not_approved": Template(
        "references", gettext_noop("no first article is approved for this part")
    ),
    "article_approval_lapsed": Template(
        "references", gettext_noop("the first article's approval ended on %(until)s")
    ),
    "article_quantity_passed": Template(
        "references",
        gettext_noop(
            "the first article is approved for %(quantity)s pieces; %(taken)s are taken up and "
            "this lot has %(lot)s"
        ),
    ),
}
MEASUREMENT: dict[str, Template] = {
    "calibration_unknown": Template(
        "measurement", gettext_noop("instrument %(instrument)s: calibration unknown")
    ),
    "calibration_overdue": Template(
        "measurement",
        gettext_noop("instrument %(instrument)s: calibration was due on %(due)s; used on %(day)s"),
    ),
    "repeatability_unknown": Template(
        "measurement", gettext_noop("instrument %(instrument)s: repeatability unknown")
    ),
    "repeatability_over": Template(
        "measurement",
        gettext_noop("instrument %(instrument)s: repeatability %(found)s; at most %(agreed)s"),
    ),
    "grid_not_computable": Template(
        "measurement",
        gettext_noop("no weights for %(grid)s nm under %(illuminant)s; nothing can be computed"),
    ),
    "condition_unsaid": Template(
        "measurement", gettext_noop("%(file)s does not say the %(field)s; agreed: %(agreed)s")
    ),
    "condition_unlike": Template(
        "measurement",
        gettext_noop("%(file)s: %(field)s is %(found)s; agreed: %(agreed)s"),
    ),
    "grid_unlike": Template(
        "measurement",
        gettext_noop("%(file)s: readings at %(found)s nm cannot give the agreed %(agreed)s nm"),
    ),
    "target_grid_unlike": Template(
        "measurement",
        gettext_noop("the target reading at %(found)s nm cannot give the agreed %(agreed)s nm"),
    ),
    "readings_too_few": Template(
        "measurement",
        gettext_noop("specimen %(specimen)s has %(readings)s readings; %(needed)s are due"),
    ),
}
EVIDENCE: dict[str, Template] = {
    "readings_missing": Template("evidence", gettext_noop("no readings were handed in")),
    "sitting_missing": Template("evidence", gettext_noop("no sitting was handed in")),
    "file_missing": Template("evidence", gettext_noop("%(what)s was not handed in")),
    "chip_missing": Template("evidence", gettext_noop("no sitting names the reference chip used")),
    "limit_samples_missing": Template(
        "evidence", gettext_noop("no sitting was against the limit samples")
    ),
    "retained_missing": Template(
        "evidence", gettext_noop("%(retained)s retained pieces under seal; %(needed)s are due")
    ),
    "lead_missing": Template(
        "evidence", gettext_noop("submitted by the role %(role)s; a quality lead is due")
    ),
    "specimens_measured_too_few": Template(
        "evidence", gettext_noop("%(specimens)s specimens measured; %(needed)s are due")
    ),
    "specimens_judged_too_few": Template(
        "evidence", gettext_noop("%(specimens)s specimens judged by eye; %(needed)s are due")
    ),
}
TOLERANCES: dict[str, Template] = {
    "value_beyond": Template(
        "tolerances",
        gettext_noop(
            "specimen %(specimen)s under %(illuminant)s: %(value)s against at most %(limit)s "
            "(U %(uncertainty)s)"
        ),
    ),
    "value_between": Template(
        "tolerances",
        gettext_noop(
            "specimen %(specimen)s under %(illuminant)s: %(value)s lies within U %(uncertainty)s "
            "of the limit %(limit)s"
        ),
    ),
    "tolerance_unsaid": Template(
        "tolerances", gettext_noop("a tolerance does not say its %(field)s and decides nothing")
    ),
    "tolerances_unsaid": Template(
        "tolerances", gettext_noop("the terms give no tolerance for the instrument to decide by")
    ),
    "no_value": Template(
        "tolerances", gettext_noop("nothing could be computed for a tolerance under %(illuminant)s")
    ),
}
DECISION: dict[str, Template] = {
    "zone_to_supplier": Template(
        "decision",
        gettext_noop("at rejection the zone belongs to the supplier: %(count)s values in it pass"),
    ),
    "zone_to_customer": Template(
        "decision",
        gettext_noop("at rejection the zone belongs to the customer: %(count)s values in it fail"),
    ),
    "panel_rule_unsaid": Template(
        "decision", gettext_noop("the terms give no panel rule; the eye decides nothing")
    ),
    "panel_rejects": Template(
        "decision",
        gettext_noop("specimen %(specimen)s: %(rejects)s of %(votes)s observers reject"),
    ),
    "panel_undecided": Template(
        "decision",
        gettext_noop("specimen %(specimen)s: the panel rule gives no answer (%(accepts)s accept, "
                     "%(rejects)s reject)"),
    ),
    "instrument_conforming": Template(
        "decision",
        gettext_noop("by instrument %(nonconforming)s of %(n)s specimens nonconforming; "
                     "acceptance number %(ac)s"),
    ),
    "instrument_nonconforming": Template(
        "decision",
        gettext_noop("by instrument %(nonconforming)s of %(n)s specimens nonconforming; more than "
                     "the acceptance number %(ac)s"),
    ),
    "instrument_inconclusive": Template(
        "decision",
        gettext_noop("by instrument %(nonconforming)s of %(n)s specimens nonconforming and "
                     "%(undecided)s undecided; acceptance number %(ac)s"),
    ),
    "visual_conforming": Template(
        "decision",
        gettext_noop("by eye %(nonconforming)s of %(n)s specimens nonconforming; "
                     "acceptance number %(ac)s"),
    ),
    "visual_nonconforming": Template(
        "decision",
        gettext_noop("by eye %(nonconforming)s of %(n)s specimens nonconforming; more than the "
                     "acceptance number %(ac)s"),
    ),
    "visual_inconclusive": Template(
        "decision",
        gettext_noop("by eye %(nonconforming)s of %(n)s specimens nonconforming and "
                     "%(undecided)s undecided; acceptance number %(ac)s"),
    ),
    "combined": Template(
        "decision",
        gettext_noop("by the agreed table: by eye %(by_eye)s, by instrument %(by_instrument)s"),
    ),
}  # fmt: skip

REASONS: dict[str, Template] = {
    **OBSERVERS,
    **VIEWING,
    **REFERENCES,
    **MEASUREMENT,
    **EVIDENCE,
    **TOLERANCES,
    **DECISION,
}
