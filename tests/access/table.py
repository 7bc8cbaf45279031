"""Who may open what, written down by hand: the marks in the code are checked against this.

Nothing here is read from the views. A name is `app:name`; `place` is the kind of dossier in which
the address is tried (`agreement`, or a firm's `register`).
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.access.stage import ANONYMOUS, EVERYONE, SEATS, SIGNED_IN

LEAD, SIGNERS, STAFF = "lead", "lead deputy", "lead deputy staff"
READING = f"{STAFF} reader"
ANYBODY = f"{READING} observer administrator"
TWO, ALL = "customer supplier", "customer supplier auditor own"
PAGE, FORM, CALL = frozenset({"GET"}), frozenset({"GET", "POST"}), frozenset({"POST"})
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")


@dataclass(frozen=True)
class Rule:
    """What is expected of one address in one place."""

    name: str
    place: str  # "agreement", "register"; "person" for anybody signed in, "all" for everybody
    methods: frozenset[str]
    may: frozenset[str]

    @property
    def id(self) -> str:
        """Its name in the tests' report."""
        return f"{self.name}@{self.place}"

    @property
    def seated(self) -> frozenset[str]:
        """Who sits in the dossier: they are told 403 where everybody else gets 404."""
        return frozenset(SEATS.get(self.place, ()))

    @property
    def call(self) -> bool:
        """Whether it answers JSON."""
        return "-api:" in self.name

    @property
    def first_method(self) -> str:
        """The one to knock with."""
        return "GET" if "GET" in self.methods else "POST"

    def allows(self, method: str) -> bool:
        """HEAD goes with GET."""
        return ("GET" if method == "HEAD" else method) in self.methods


def may(place: str, sides: str, roles: str) -> frozenset[str]:
    """Who of everybody sits on one of these sides in one of these roles."""
    return frozenset(
        who
        for who, (side, role) in SEATS[place].items()
        if side in sides.split() and role in roles.split()
    )


def pages(place: str, sides: str, roles: str, app: str, names: str) -> list[Rule]:
    """Pages that only read."""
    who = may(place, sides, roles)
    return [Rule(f"{app}:{name}", place, PAGE, who) for name in names.split()]


def calls(place: str, sides: str, roles: str, app: str, names: str) -> list[Rule]:
    """JSON answers that only read."""
    who = may(place, sides, roles)
    return [Rule(f"{app}-api:{name}", place, PAGE, who) for name in names.split()]


def acts(place: str, sides: str, roles: str, app: str, names: str) -> list[Rule]:
    """An act: a page with a form, and the JSON call beside it, for the same people."""
    who = may(place, sides, roles)
    return [
        rule
        for name in names.split()
        for rule in (
            Rule(f"{app}:{name}", place, FORM, who),
            Rule(f"{app}-api:{name}-api", place, CALL, who),
        )
    ]


def steps(place: str, sides: str, roles: str, app: str, names: str) -> list[Rule]:
    """An act in which the browser may have a part: a page, the JSON call, and that of its first
    step, for the same people."""
    who = may(place, sides, roles)
    first = [Rule(f"{app}-api:{name}-prepare-api", place, CALL, who) for name in names.split()]
    return [*acts(place, sides, roles, app, names), *first]


def free(place: str, methods: frozenset[str], names: str) -> list[Rule]:
    """Addresses outside dossiers."""
    who = frozenset(SIGNED_IN if place == "person" else EVERYONE)
    return [Rule(name, place, methods, who) for name in names.split()]


OUTSIDE = [
    *free("all", FORM, "login password_reset password_reset_confirm parties:accept"),
    *free("all", FORM, "desk:held-checkpoint"),
    *free("all", CALL, "logout set_language parties:theme"),
    *free("all", PAGE, "password_reset_done password_reset_complete"),
    *free("all", PAGE, "parties:installation parties:root-certificate parties:words"),
    *free("person", FORM, "password_change parties:account parties:booth-device"),
    *free("person", PAGE, "password_change_done desk:home parties:checks"),
]
PARTIES = [
    *pages("register", "own", ANYBODY, "parties", "register"),
    *pages("register", "own", READING, "parties", "observers booths instruments"),
    *pages("register", "own", READING, "parties", "booth instrument"),
    *pages("register", "own", f"{READING} administrator", "parties", "seal"),
    *acts("register", "own", "lead administrator", "parties", "own-seal installation-seal"),
    # Their record: the own lead, and the observer; other staff see the name only.
    *pages("register", "own", f"{READING} observer", "parties", "observer"),
    *pages("register", "own", "lead observer", "parties", "observer-scan"),
    *pages("register", ALL, READING, "parties", "references reference"),
    *pages("agreement", ALL, READING, "parties", "references reference"),
    *pages("register", ALL, f"{READING} administrator", "parties", "people"),
    *pages("agreement", ALL, f"{READING} administrator", "parties", "people"),
    *acts("register", "own", LEAD, "parties", "enter-observer observer-renew"),
    *acts("register", "own", STAFF, "parties", "enter-booth booth-renew"),
    *acts("register", "own", STAFF, "parties", "enter-instrument instrument-renew"),
    *acts("register", "own", STAFF, "parties", "enter-reference reference-renew"),
    *acts("register", "own", STAFF, "parties", "reference-add-chips chip-use"),
    *acts("agreement", TWO, STAFF, "parties", "enter-reference reference-renew"),
    *acts("agreement", TWO, STAFF, "parties", "reference-add-chips chip-use"),
    *pages("register", "own", f"{STAFF} administrator", "parties", "keys"),
    *steps("register", "own", STAFF, "parties", "enrol-key"),
    *acts("register", "own", f"{SIGNERS} administrator", "parties", "confirm-key"),
    *acts("register", "own", f"{STAFF} administrator", "parties", "revoke-key"),
    *acts("register", "own", "lead administrator", "parties", "invite-colleague"),
    *acts("register", "own", "lead administrator", "parties", "change-role let-go"),
    *pages("register", "own", "administrator", "parties", "personal"),
    *acts("register", "own", "administrator", "parties", "erase-person"),
    *acts("agreement", TWO, LEAD, "parties", "name-person"),
    *acts("register", "own", f"{SIGNERS} administrator", "parties", "invitation-withdraw"),
    *acts("agreement", TWO, f"{SIGNERS} administrator", "parties", "invitation-withdraw"),
    *acts("agreement", TWO, SIGNERS, "parties", "invite-firm limit-seat"),
    *acts("agreement", TWO, LEAD, "parties", "seat-colleague unseat-colleague"),
]
AGREEMENTS = [
    *pages("agreement", ALL, ANYBODY, "agreements", "overview"),
    *pages("agreement", TWO, READING, "agreements", "draft draft-check draft-redline"),
    *pages("agreement", ALL, READING, "agreements", "revision revision-check"),
    *pages("agreement", ALL, READING, "agreements", "revision-redline terms-json paper"),
    *calls("agreement", ALL, READING, "agreements", "revision-progress"),
    *acts("agreement", TWO, STAFF, "agreements", "revision-make-papers"),
    *acts("register", "own", SIGNERS, "agreements", "start-agreement"),
    *acts("agreement", TWO, STAFF, "agreements", "draft-heading draft-clause draft-item"),
    *acts("agreement", TWO, STAFF, "agreements", "draft-remove-item draft-part"),
    *acts("agreement", TWO, STAFF, "agreements", "draft-remove-part draft-own-value"),
    *acts("agreement", TWO, STAFF, "agreements", "draft-shared-value draft-rebase"),
    *acts("agreement", TWO, STAFF, "agreements", "draft-discard revision-take-up"),
    *acts("agreement", TWO, SIGNERS, "agreements", "draft-propose draft-counter"),
    *acts("agreement", TWO, SIGNERS, "agreements", "revision-agree"),
    *steps("agreement", TWO, SIGNERS, "agreements", "revision-sign"),
    *acts("agreement", TWO, SIGNERS, "agreements", "revision-withdraw"),
    *acts("agreement", TWO, STAFF, "agreements", "revision-remark remark-strike"),
    *acts("agreement", TWO, LEAD, "agreements", "suspend resume end"),
]
EVIDENCE = [
    *pages("agreement", TWO, f"{READING} observer", "evidence", "index sitting"),
    *pages("agreement", TWO, READING, "evidence", "file file-download set"),
    *pages("agreement", TWO, READING, "evidence", "document piece"),
    *acts("agreement", TWO, STAFF, "evidence", "upload open-sitting files-confirm"),
    *acts("agreement", TWO, STAFF, "evidence", "add-document documents-set-aside"),
    *acts("agreement", TWO, STAFF, "evidence", "retain-piece pieces-set-aside"),
    *acts("agreement", TWO, STAFF, "evidence", "sets-store sets-set-aside sittings-set-aside"),
    *acts("agreement", TWO, STAFF, "evidence", "files-set-aside"),
    *acts("agreement", TWO, f"{STAFF} observer", "evidence", "sittings-judge"),
]
SHIPMENTS = [
    *pages("agreement", ALL, READING, "shipments", "lots lot article submission"),
    *pages("agreement", ALL, READING, "shipments", "submission-document evidence-file"),
    *pages("agreement", ALL, READING, "shipments", "verdict-document paper"),
    *calls("agreement", ALL, READING, "shipments", "submission-progress"),
    *acts("agreement", "supplier", STAFF, "shipments", "prepare-article open-lot"),
    *acts("agreement", "supplier", STAFF, "shipments", "articles-submit lots-submit"),
    *acts("agreement", "supplier", STAFF, "shipments", "lots-withdraw"),
    *acts("agreement", "supplier", SIGNERS, "shipments", "lots-release"),
    *steps("agreement", "customer", LEAD, "shipments", "articles-approve"),
    *steps("agreement", "customer", LEAD, "shipments", "articles-approve-with-limits"),
    *acts("agreement", "customer", STAFF, "shipments", "articles-return"),
    *acts("agreement", "customer", STAFF, "shipments", "lots-receive lots-accept"),
    *pages("agreement", ALL, READING, "shipments", "lists list list-document"),
    *acts("agreement", TWO, STAFF, "shipments", "draw-up-list lists-set-aside"),
    *steps("agreement", TWO, LEAD, "shipments", "submissions-sign lists-sign"),
    *acts("agreement", TWO, STAFF, "shipments", "submissions-try-again"),
]
DISPUTES = [
    *pages("agreement", ALL, READING, "disputes", "disputes dispute beside post-file offer"),
    *acts("agreement", "customer", SIGNERS, "disputes", "lots-reject disputes-withdraw"),
    *acts("agreement", "supplier", STAFF, "disputes", "disputes-answer"),
    *acts("agreement", TWO, STAFF, "disputes", "disputes-examine disputes-post disputes-note"),
    *acts("agreement", TWO, STAFF, "disputes", "disputes-offer posts-strike offers-decline"),
    *steps("agreement", TWO, LEAD, "disputes", "offers-sign"),
]
DESK = [
    *pages("agreement", ALL, READING, "desk", "timeline entry entry-header record"),
    *pages("agreement", ALL, READING, "desk", "copy copy-download copy-checkpoint"),
    *pages("agreement", ALL, READING, "desk", "checkpoint comparison"),
    *pages("agreement", TWO, READING, "desk", "reading"),
    *calls("agreement", ALL, READING, "desk", "copy-progress"),
    *acts("agreement", ALL, READING, "desk", "make-record record-try-again"),
    *acts("agreement", ALL, READING, "desk", "compare-checkpoint"),
    *acts("agreement", ALL, READING, "desk", "lots-part-record disputes-part-record"),
]
# Who takes these is logged, whoever it is; of guests it is logged whatever they read. Both in the
# dossier's reading chain and nowhere else.
TAKEN = frozenset({"desk:copy-download", "desk:copy-checkpoint", "desk:checkpoint"})
GUESTS = frozenset({"auditor", "auditor_lead"})


def logged(rule: Rule, who: str) -> bool:
    """Whether it is logged that they read it."""
    if rule.place != "agreement" or not rule.allows("GET") or who not in rule.may:
        return False
    if rule.call:  # whether the work of an open page is done
        return False
    return rule.name in TAKEN or who in GUESTS


RULES = [*OUTSIDE, *PARTIES, *AGREEMENTS, *EVIDENCE, *SHIPMENTS, *DISPUTES, *DESK]
# Addresses that stand in both kinds of dossier; everything else is 404 in the other kind.
IN_BOTH = frozenset({rule.name for rule in PARTIES if rule.place == "register"}) & frozenset(
    {rule.name for rule in PARTIES if rule.place == "agreement"}
)


def expected(rule: Rule, who: str, *, sees: bool = True) -> str:
    """What `who` meets at an allowed method: "in", "403", "404" or "login"; `sees`: whether the
    object asked for is visible to their side."""
    if rule.place == "all":
        return "in"
    if who == ANONYMOUS:
        return "login"
    if rule.place == "person":
        return "in"
    if who not in rule.seated or not sees:
        return "404"
    return "in" if who in rule.may else "403"
