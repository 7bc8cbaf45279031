"""The operating characteristic stands where the terms ask for a sample."""

from __future__ import annotations

from math import comb

import pytest
from django.urls import reverse

from agreements.models import Revision
from agreements.paper import context_of
from agreements.sampling_figure import of_lot, of_terms
from jobs.figures.drawing import for_page, for_paper
from method.behind import Sample
from method.terms import from_document
from method.terms.models import Clauses, Decision, Terms
from parties.models import Signature


def passes(n: int, ac: int, share: float) -> float:
    return sum(comb(n, k) * share**k * (1 - share) ** (n - k) for k in range(ac + 1))


def under(**fields) -> Terms:
    """Terms that say this of the decision."""
    return Terms(shared=Clauses(decision=Decision(**fields)))


@pytest.mark.parametrize(("n", "ac"), [(3, 0), (20, 1), (125, 7), (5, 4), (2000, 3)])
def test_the_curve_is_the_binomial_one(n, ac):
    [figure] = of_terms(under(sampling_kind="fixed", sample_size=n, acceptance_number=ac), for_page)
    for percent, chance, _words in figure.table.rows:
        assert float(chance) == pytest.approx(passes(n, ac, float(percent) / 100), abs=0.00051)
    named = [float(row[1]) for row in figure.table.rows if row[2]]
    assert named == pytest.approx([0.95, 0.5, 0.1], abs=0.01)
    assert f"sample of {n}, acceptance number {ac}" in figure.description


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"sampling_kind": "every_piece"},
        {"sampling_kind": "fixed"},
        {"sample_size": 5},
        {"sampling_kind": "fixed", "sample_size": 2, "acceptance_number": 2},
    ],
)
def test_no_figure_without_a_fixed_sample_that_can_refuse(fields):
    assert of_terms(under(**fields), for_page) == []


@pytest.mark.parametrize(
    "sample",
    [
        Sample("every_piece", 100, 100, 0),
        Sample("fixed", 3, 3, 0),
        Sample(None, 100, 1, 0),
        Sample("fixed", 100, 2, 2),
    ],
)
def test_no_figure_of_a_lot_where_nothing_is_left_to_chance(sample):
    assert of_lot(sample, for_page) is None


def test_a_lot_hardly_larger_than_its_sample_has_a_curve():
    figure = of_lot(Sample("fixed", 4, 3, 0), for_page)
    assert figure is not None
    assert [(row[0], row[1]) for row in figure.table.rows if not row[2]] == [
        ("0.00", "1.000"),
        ("25.00", "0.250"),
        ("50.00", "0.000"),
    ]


def test_page_and_paper_show_the_same(world, sign_in):
    revision = Revision.objects.get(dossier=world.cast.agreement, status="signed")
    place = reverse(
        "agreements:revision", kwargs={"dossier": revision.dossier_id, "pk": revision.pk}
    )
    answer = sign_in(world.cast.customer_lead).get(place)
    [shown] = answer.context["sampling"]
    [asked] = of_terms(revision.document, for_paper)
    assert shown.table == asked.table
    assert answer.content.decode().count('class="plot"') == 2  # wide, and for phones
    first = Signature.objects.filter(dossier=revision.dossier, what="revision").order_by(
        "created_at"
    )[0]
    [printed] = context_of(revision, first, "", "en")["sampling"]
    assert printed.table == asked.table


def test_parts_that_depart_from_the_sample_have_their_own_curve():
    fixed = {"sampling_kind": "fixed", "sample_size": 5, "acceptance_number": 1}
    parts = [
        {"id": f"prt-aaaaa{n}", "number": f"P-{n}", "overrides": {"decision": own}}
        for n, own in enumerate(
            [{"sample_size": 20}, {"sample_size": 20}, {"sample_size": 5}, {"rounding": "half_up"}]
        )
    ]
    terms = from_document({"schema": 2, "shared": {"decision": fixed}, "parts": parts})
    shared, own = of_terms(terms, for_page)
    assert "sample of 5, acceptance number 1" in shared.description
    assert "sample of 20, acceptance number 1" in own.description
    assert own.title == "How often a lot of P-0; P-1 passes"
