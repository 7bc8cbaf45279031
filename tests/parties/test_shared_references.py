"""What both sides rely on is not exchanged by one of them."""

import pytest

from parties.models import Reference
from parties.refusal import Refusal
from parties.transitions import enter, supersede
from parties.transitions.shared import STAYS


@pytest.fixture
def standard(cast):
    """The customer's standard in the agreement."""
    by = cast.capacity(cast.customer_lead)
    return enter(Reference, by=by, name="Standard", kind="master", part="H-1", colour="Slate")


@pytest.mark.parametrize("kind", ["master", "limit_sample"])
def test_the_supplier_enters_no_master_and_no_limit_sample(cast, kind):
    with pytest.raises(Refusal) as refused:
        enter(Reference, by=cast.capacity(cast.supplier_lead), name="Mine", kind=kind)
    assert refused.value.id == "reference.given"
    assert not Reference.objects.exists()


def test_the_supplier_does_not_renew_what_the_customer_entered(cast, standard):
    with pytest.raises(Refusal):
        supersede(standard, by=cast.capacity(cast.supplier_lead), retired=True)
    duplicate = enter(
        Reference, by=cast.capacity(cast.customer_lead), name="Copy", kind="duplicate"
    )
    with pytest.raises(Refusal) as refused:
        supersede(duplicate, by=cast.capacity(cast.supplier_lead), storage="elsewhere")
    assert refused.value.id == "reference.side"


def test_a_duplicate_does_not_become_a_master_later(cast):
    by = cast.capacity(cast.supplier_lead)
    duplicate = enter(Reference, by=by, name="Mine", kind="duplicate")
    with pytest.raises(Refusal) as refused:
        supersede(duplicate, by=by, kind="master")
    assert refused.value.id == "reference.given"


@pytest.mark.parametrize("name", STAYS)
def test_what_a_reference_is_stays(cast, standard, name):
    with pytest.raises(Refusal) as refused:
        value = "duplicate" if name == "kind" else "other"
        supersede(standard, by=cast.capacity(cast.customer_lead), **{name: value})
    assert refused.value.id == "reference.stays"


def test_the_customer_renews_its_own_expiry(cast, standard):
    row = supersede(standard, by=cast.capacity(cast.customer_lead), expires_on="2030-01-01")
    assert (row.version, str(row.expires_on)) == (2, "2030-01-01")
