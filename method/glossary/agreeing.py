"""References, lots and the record: the words of clauses 4, 8, 9 and 10, and most of our own."""

from __future__ import annotations

from method.glossary.entry import OWN, PRACTICE, Entry
from method.words import gettext_noop

ENTRIES = (
    Entry(
        "master",
        gettext_noop("master"),
        gettext_noop(
            "The physical piece that both sides have approved and lots are judged against. It is "
            "kept in the dark and rarely touched."
        ),
        PRACTICE,
    ),
    Entry(
        "target",
        gettext_noop("target"),
        gettext_noop(
            "What readings are compared with: the master's stored reading, a fresh reading of "
            "one's own duplicate, or agreed numbers."
        ),
        PRACTICE,
    ),
    Entry(
        "duplicate",
        gettext_noop("duplicate (working standard)"),
        gettext_noop(
            "A piece like the master for daily use, one on each side. How far it lies from the "
            "master is measured and written down."
        ),
        PRACTICE,
    ),
    Entry(
        "limit-sample",
        gettext_noop("limit sample"),
        gettext_noop(
            "A piece that is just acceptable in one direction, such as the yellowest allowed."
        ),
        PRACTICE,
    ),
    Entry(
        "sealed-sample",
        gettext_noop("sealed sample"),
        gettext_noop(
            "An approved piece under a numbered seal, mostly in pairs, one for each side: whatever "
            "is claimed later can be held against it."
        ),
        PRACTICE,
    ),
    Entry(
        "retained-piece",
        gettext_noop("retained piece"),
        gettext_noop("A piece of a lot that is kept under seal in case the lot is disputed."),
        PRACTICE,
    ),
    Entry(
        "tear-off-chip",
        gettext_noop("tear-off chip"),
        gettext_noop("A reference for one use: it is torn off a pack, used and kept with the lot."),
        PRACTICE,
    ),
    Entry(
        "first-article",
        gettext_noop("first article"),
        gettext_noop(
            "The first pieces from the real process, submitted for approval before lots are "
            "shipped. Approved, they become the master."
        ),
        PRACTICE,
    ),
    Entry(
        "concession",
        gettext_noop("concession"),
        gettext_noop(
            "Permission to use what was made and does not conform: for a stated lot, and no "
            "precedent."
        ),
        gettext_noop("ISO 9000:2015, 3.12.5"),
    ),
    Entry(
        "waiver",
        gettext_noop("waiver"),
        gettext_noop(
            "A signed decision to do without one missing or invalid piece of evidence, for one lot "
            "and with a reason."
        ),
        OWN,
    ),
    Entry(
        "submission",
        gettext_noop("submission"),
        gettext_noop(
            "Evidence handed in for a lot or a first article, frozen from then on. A correction is "
            "a further submission."
        ),
        OWN,
    ),
    Entry(
        "verdict",
        gettext_noop("verdict"),
        gettext_noop(
            "What the terms make of a submission: conforming, nonconforming, inconclusive or "
            "incomplete, with reasons and numbers. The same evidence gives the same verdict."
        ),
        OWN,
    ),
    Entry(
        "evidence-due",
        gettext_noop("evidence due"),
        gettext_noop(
            "What clause 8 asks for: what, from which side, by when. While it is missing, the "
            "verdict is incomplete."
        ),
        OWN,
    ),
    Entry(
        "revision",
        gettext_noop("revision"),
        gettext_noop(
            "A numbered, frozen state of the terms. A signed one is never edited: a change is a "
            "new revision."
        ),
        OWN,
    ),
    Entry(
        "draft-check",
        gettext_noop("draft check"),
        gettext_noop(
            "What the service finds in terms before they are proposed: blockers, warnings and "
            "advice, each with its source and how to mend it."
        ),
        OWN,
    ),
    Entry(
        "remark",
        gettext_noop("remark"),
        gettext_noop(
            "A sentence to the other side about a clause of a revision. It is kept with the "
            "revision and can be struck, not removed."
        ),
        OWN,
    ),
    Entry(
        "containment",
        gettext_noop("containment"),
        gettext_noop(
            "What each side holds, sorts or stops at once when a lot is rejected, with the number "
            "of pieces in each place."
        ),
        PRACTICE,
    ),
    Entry(
        "joint-test",
        gettext_noop("joint test"),
        gettext_noop("A test that both sides make together on the same pieces to settle a doubt."),
        OWN,
    ),
    Entry(
        "referee",
        gettext_noop("referee"),
        gettext_noop("Whoever examines when the two sides cannot agree."),
        PRACTICE,
    ),
    Entry(
        "settlement",
        gettext_noop("settlement"),
        gettext_noop(
            "The signed end of a dispute. It accounts for every piece of the lot and is no "
            "precedent."
        ),
        OWN,
    ),
    Entry(
        "dossier",
        gettext_noop("dossier"),
        gettext_noop(
            "Everything about one agreement, or about one firm's register, with a chain of its own."
        ),
        OWN,
    ),
    Entry(
        "seat",
        gettext_noop("seat"),
        gettext_noop(
            "A firm's place in a dossier: customer, supplier or auditor. People sit on it in a "
            "role, and nobody sits on two sides."
        ),
        OWN,
    ),
    Entry(
        "chain",
        gettext_noop("chain"),
        gettext_noop(
            "The acts of a dossier in order, each entry with the hash of the one before: nothing "
            "can be changed in the middle unseen."
        ),
        OWN,
    ),
    Entry(
        "checkpoint",
        gettext_noop("checkpoint"),
        gettext_noop(
            "A few signed lines that say where a chain stood. Whoever keeps one can show later "
            "that the chain was changed."
        ),
        OWN,
    ),
    Entry(
        "signed-record",
        gettext_noop("signed record"),
        gettext_noop(
            "One file with every entry, signature and piece of evidence of a dossier. It can be "
            "checked offline, without trusting either firm or this service."
        ),
        OWN,
    ),
    Entry(
        "countersignature",
        gettext_noop("countersignature"),
        gettext_noop(
            "A line under a checkpoint that names a side's last signature and the entry that its "
            "signatory had seen."
        ),
        OWN,
    ),
    Entry(
        "digest",
        gettext_noop("digest"),
        gettext_noop(
            "A short number computed from a document (SHA-256). Another document has another one, "
            "so signing the digest signs the document."
        ),
        gettext_noop("from memory: FIPS 180-4"),
    ),
    Entry(
        "passkey",
        gettext_noop("passkey"),
        gettext_noop(
            "A key that a person's own device holds and uses only after making sure of them. "
            "Whoever runs this service cannot sign with it."
        ),
        gettext_noop("from memory: Web Authentication (W3C)"),
    ),
    Entry(
        "seal",
        gettext_noop("seal (of a PDF)"),
        gettext_noop(
            "A mark in a PDF by which any reader sees that it is as this service made it. It is "
            "not the signatory's own signature."
        ),
        OWN,
    ),
    Entry(
        "time-stamp",
        gettext_noop("time stamp"),
        gettext_noop("An outside authority's word that a document existed at a certain moment."),
        gettext_noop("RFC 3161"),
    ),
)
