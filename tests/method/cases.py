"""Small invented cases for judging: terms, evidence and blobs that one test changes in one place.

The spectra are made up: flat greys with a slope, nothing measured.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import numpy as np

from ledger.canonical import digest, parse
from method.facts import (
    Approval,
    BoothFacts,
    GridFacts,
    InstrumentFacts,
    Lab,
    Light,
    ReferenceFacts,
    TargetFacts,
)
from method.judge import judge
from method.packed import PackedSet, pack
from method.submission import (
    Article,
    By,
    Comparator,
    Condition,
    Conditions,
    Judgement,
    Lot,
    Measured,
    PublicReason,
    Sitting,
    Specimen,
    Submission,
    readings_of,
    submission_bytes,
)
from method.terms import Terms, combination_template, from_document, terms_bytes
from method.terms.combination import Template

DAY = date(2026, 3, 3)
GRID = tuple(range(400, 701, 10))
LIGHTS = ("A", "D65")
PART = "prt-aaaaaa"


def spectrum(level: float, slope: float = 0.0) -> list[float]:
    """An invented reflectance (31 bands) around `level`, rising by `slope` to the red."""
    return [level + slope * n / 30 for n in range(31)]


def packed(rows: Mapping[str, list[list[float]]], grid: tuple[int, ...] = GRID) -> bytes:
    """A packed set of specimens' readings by label."""
    labels = tuple(label for label, readings in rows.items() for _ in readings)
    values = np.array([row for readings in rows.values() for row in readings])
    return pack(PackedSet(grid, labels, values))


def tolerance(n: int, **changes: Any) -> dict[str, Any]:
    """A tolerance item as terms carry it."""
    base = {
        "id": f"tol-aaaaa{n}", "compared_with": "target", "geometry": "di:8",
        "illuminant": "D65", "formula": "CIEDE2000", "k_l": "1", "k_c": "1", "k_h": "1",
        "limit": "1.00", "decimals": 2,
    }  # fmt: skip
    return {**base, **changes}


def due(n: int, what: str, occasion: str = "release", **changes: Any) -> dict[str, Any]:
    """An item of evidence due."""
    base = {
        "id": f"evd-aaaaa{n}", "what": what, "occasion": occasion, "due": "with_submission",
        "supplied_by": "customer" if occasion == "rejection" else "supplier", "required": True,
    }  # fmt: skip
    return {**base, **changes}


def clauses(template: Template = "both") -> dict[str, dict[str, Any]]:
    """Clauses that the base evidence meets in full."""
    table = combination_template(template, random.Random(1))
    return {
        "observers": {"panel_size": 3, "greatest_score_panel": 16},
        "viewing": {
            "primary": "D65", "secondary": ["A"], "simulator_category": "B",
            "simulator_category_uv": "C", "illuminance_min_lx": 1000, "illuminance_max_lx": 4000,
            "interior_l_min": "45", "interior_l_max": "55", "interior_ab_max": "2",
            "lamp_hours_max": 2000, "check_interval_days": 30, "warm_up_minutes": 15,
        },
        "references": {
            "kind": "approved_part", "must_match": ["finish", "substrate"],
            "target": "stored_reading", "replacement_months": 12, "drift_limit": "0.30",
            "duplicate_limit": "0.20", "first_article_required": True,
        },
        "measurement": {
            "instrument": "required", "geometries": ["di:8"], "aperture_min_mm": "8",
            "uv": "included", "observer": "10", "grid_start_nm": 400, "grid_end_nm": 700,
            "grid_step_nm": 10, "backing": "white", "readings": 2, "temperature_min_c": "21",
            "temperature_max_c": "25", "age_hours_min": 24, "calibration_months": 12,
            "calibration_hours": 8, "repeatability_max": "0.10",
        },
        "tolerances": {"items": [tolerance(1), tolerance(2, illuminant="A")]},
        "decision": {
            "combination": [row.model_dump(mode="json") for row in table],
            "panel_rule": "majority", "rule_at_release": "guarded",
            "rule_at_rejection": "guarded", "zone_at_rejection": "supplier",
            "uncertainty_kind": "declared", "uncertainty_value": "0.20", "coverage_factor": "2",
            "rounding": "half_even", "sampling_kind": "fixed", "sample_size": 2,
            "acceptance_number": 0,
        },
        "evidence": {
            "items": [
                due(1, "spectral"), due(2, "visual"),
                due(3, "spectral", "rejection"), due(4, "visual", "rejection", required=False),
            ]
        },
    }  # fmt: skip


MASTER = ReferenceFacts(
    code="M-1", role="master", kind="approved_part", like_part=("finish", "substrate"),
    opened_on=date(2025, 9, 1), expires_on=date(2026, 9, 1),
)  # fmt: skip
BOOTH = BoothFacts(
    code="B-1",
    lights=(
        Light(
            illuminant="D65", lamp_hours=400, illuminance_lux=Decimal(1500), category="B",
            category_uv="C",
        ),
        Light(illuminant="A", lamp_hours=90, illuminance_lux=Decimal(1200)),
    ),
    checked_on=date(2026, 3, 1),
    interior=Lab(L=Decimal(50), a=Decimal(0), b=Decimal(1)),
)  # fmt: skip
INSTRUMENT = InstrumentFacts(
    code="SP-1", geometries=("di:8",), grid=GridFacts(start=400, stop=700, step=10),
    calibrated_on=date(2025, 10, 1), repeatability=Decimal("0.05"),
)  # fmt: skip
CONDITION = Condition(
    geometry="di:8", aperture_mm=Decimal(8), uv="included", backing="white",
    temperature_c=Decimal(23), age_hours=Decimal(48), hours_since_white=Decimal(1),
)  # fmt: skip


def votes(
    outcomes: Mapping[str, str] | None = None, specimens: tuple[str, ...] = ("1", "2")
) -> tuple[Judgement, ...]:
    """Judgements of observers (code -> outcome) on each specimen, all qualified."""
    given = outcomes or {"O-1": "accept", "O-2": "accept", "O-3": "accept"}
    return tuple(
        Judgement(observer=observer, specimen=label, outcome=outcome, qualified=True)
        for observer, outcome in given.items()
        for label in specimens
    )


APPROVED = Approval(outcome="approved")
NOT_QUALIFIED = (PublicReason(id="observer_not_qualified", params={"day": str(DAY)}),)


@dataclass(frozen=True)
class Case:
    """Terms and evidence; `judged` gives the verdict as a dict. Every part can be replaced."""

    terms: dict[str, dict[str, Any]] = field(default_factory=clauses)
    rows: Mapping[str, list[list[float]]] = field(
        default_factory=lambda: {
            "1": [spectrum(0.402), spectrum(0.404)],
            "2": [spectrum(0.401), spectrum(0.402)],
        }
    )
    target: list[float] = field(default_factory=lambda: spectrum(0.40))
    grid: tuple[int, ...] = GRID
    condition: Condition = CONDITION
    instrument: InstrumentFacts = INSTRUMENT
    measured: bool = True
    booth: BoothFacts = BOOTH
    reference: ReferenceFacts = MASTER
    judgements: tuple[Judgement, ...] = field(default_factory=votes)
    sat: bool = True
    sitting: Mapping[str, Any] = field(default_factory=dict)
    target_facts: Mapping[str, Any] = field(default_factory=dict)
    targets: tuple[TargetFacts, ...] | None = None
    approval: Approval = APPROVED
    fields: Mapping[str, Any] = field(default_factory=dict)
    extra_labels: tuple[str, ...] = ()

    def with_terms(self, clause: str, **values: Any) -> Case:
        """The case under terms with some fields of one clause replaced; None unsays a field."""
        merged = {**self.terms.get(clause, {}), **values}
        kept = {name: value for name, value in merged.items() if value is not None}
        return replace(self, terms={**self.terms, clause: kept})

    def but(self, **changes: Any) -> Case:
        """The case with parts replaced."""
        return replace(self, **changes)

    def document(self) -> Terms:
        """The terms, with one part."""
        part = {"id": PART, "number": "P-1", "name": "Cover", "colour": "grey"}
        return from_document({"schema": 1, "shared": self.terms, "parts": [part]})

    @property
    def blobs(self) -> dict[str, bytes]:
        """The packed sets by digest."""
        sets = [packed({"master": [self.target]})]
        sets += [packed(self.rows, self.grid)] if self.rows else []
        return {digest(data): data for data in sets}

    def submission(self) -> Submission:
        """The submission of this evidence."""
        labels = {*self.rows, *self.extra_labels, *(one.specimen for one in self.judgements)}
        values: dict[str, Any] = {
            "engine": "1.0.0",
            "purpose": "lot",
            "nth": 1,
            "dossier": "d-1",
            "terms": digest(terms_bytes(self.document())),
            "revision": 1,
            "part": PART,
            "lot": Lot(number="L-1", order="O-1", accepted_on=date(2026, 1, 9), quantity=500),
            "submitted_at": datetime(2026, 3, 4, 9, tzinfo=UTC),
            "by": By(code="S-2", organisation="ORG-2", side="supplier", role="quality_lead"),
            "specimens": tuple(Specimen(label=label) for label in labels),
            "conditions": self._conditions(),
            "measured": self._measured() if self.measured else (),
            "sittings": self._sittings() if self.sat else (),
        }
        return Submission(**{**values, **self.fields})

    def _conditions(self) -> Conditions:
        target = {
            "source": "stored_reading",
            "reference": self.reference.id,
            "packed": digest(packed({"master": [self.target]})),
            "rows": (0,),
            **self.target_facts,
        }
        targets = (TargetFacts(**target),) if self.targets is None else self.targets
        return Conditions(
            booths=(self.booth,) if self.sat else (),
            instruments=(self.instrument,) if self.measured else (),
            references=(self.reference,),
            targets=targets if self.measured else (),
            approval=self.approval,
        )

    def _measured(self) -> tuple[Measured, ...]:
        labels = [label for label, readings in self.rows.items() for _ in readings]
        return (
            Measured(
                file=digest(b"file"),
                name="lot.csv",
                mapping=digest(b"mapping"),
                packed=digest(packed(self.rows, self.grid)),
                instrument=self.instrument.id,
                measured_on=DAY,
                zone="Europe/Rome",
                condition=self.condition,
                readings=readings_of(labels),
            ),
        )

    def _sittings(self) -> tuple[Sitting, ...]:
        values: dict[str, Any] = {
            "day": DAY,
            "zone": "Europe/Rome",
            "booth": self.booth.id,
            "comparator": Comparator(role="master", reference=self.reference.id),
            "illuminants": LIGHTS,
            "warm_up_minutes": 20,
            "entered_by": "observer",
            "judgements": self.judgements,
        }
        return (Sitting(**{**values, **self.sitting}),)

    @property
    def inputs(self) -> tuple[bytes, bytes, dict[str, bytes]]:
        """What `judge` takes."""
        return terms_bytes(self.document()), submission_bytes(self.submission()), self.blobs

    def judged(self) -> dict[str, Any]:
        """The verdict's JSON value."""
        verdict: dict[str, Any] = parse(judge(*self.inputs))
        return verdict

    def rejection(self, **fields: Any) -> Case:
        """The case as the customer's evidence for a rejection."""
        by = By(code="C-2", organisation="ORG-1", side="customer", role="quality_lead")
        return self.but(fields={**self.fields, "purpose": "rejection", "by": by, **fields})

    def first_article(self) -> Case:
        """The case as a first article."""
        article = {"purpose": "first_article", "article": Article(number="A-1"), "lot": None}
        return self.but(fields={**self.fields, **article})


def visual_case(**changes: Any) -> Case:
    """An agreement with no instrument at all: the panel alone decides."""
    terms = clauses("visual")
    terms["measurement"] = {"instrument": "none"}
    terms["tolerances"] = {}
    terms["evidence"] = {"items": [due(2, "visual"), due(4, "visual", "rejection")]}
    return Case(terms=terms, rows={}, measured=False).but(**changes)


def reason_ids(verdict: Mapping[str, Any]) -> set[str]:
    """Ids of every reason anywhere in a verdict."""
    found = {reason["id"] for reason in verdict["reasons"]}
    found |= {reason["id"] for one in verdict["evidence"] for reason in one["reasons"]}
    for judgement in verdict["visual"]["judgements"]:
        found |= {reason["id"] for reason in judgement["reasons"]}
    return found
