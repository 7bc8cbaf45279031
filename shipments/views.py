"""Pages of first articles, lots and submissions."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import get_language

from jobs import queue
from jobs.figures.kept import for_page
from ledger import blobs
from method.submission import blob_digests, parse_submission
from parties.access import READING, for_seat
from parties.downloads import attachment
from parties.models import DocumentSeal, Dossier, Side, Signature, Sitter
from parties.paging import page_of
from parties.seals import seals_of
from parties.states import job_state
from shipments import acts
from shipments.behind import behind_of
from shipments.due import LAST_OUTCOME
from shipments.figures import drawn
from shipments.listed import Signing, due_on, listed, signing_of, signings
from shipments.lists import unsigned
from shipments.lots_figure import over_time
from shipments.masters import masters_of
from shipments.models import FirstArticle, Lot, Submission, SubmissionList, Verdict, VerdictPaper
from shipments.moves import article_move, lot_move
from shipments.offered import handed_in_before, offered
from shipments.transitions.judging import PAPER, failed_jobs
from shipments.transitions.submissions import JUDGE
from shipments.wording import shown

AGREEMENT = Dossier.Purpose.AGREEMENT


@for_seat(roles=READING, purpose=AGREEMENT)
def lots(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Lots and first articles of this agreement."""
    found = Lot.objects.visible_to(sitter).select_related("revision").defer("revision__terms")
    lots = page_of(found.annotate(outcome=LAST_OUTCOME), request.GET)
    articles = page_of(FirstArticle.objects.visible_to(sitter), request.GET, "articles-")
    moved = lots.moved or articles.moved
    context = {
        "obj": dossier,
        "lots": lots,
        "articles": articles,
        "acts": acts.DOSSIER_ACTS,
        "drawings": [] if moved else over_time(sitter, for_page),
    }
    return render(request, "shipments/lots.html", context)


@for_seat(FirstArticle, roles=READING)
def article(request: HttpRequest, sitter: Sitter, article: FirstArticle) -> HttpResponse:
    """A first article, its submissions and what may be done next."""
    context = _thing(sitter, article) | {"acts": acts.ARTICLE_ACTS}
    signed = Signature.objects.visible_to(sitter).filter(what="article", subject=article.subject)
    context |= {
        "move": article_move(article, unsigned=context["unsigned"]),
        "approval": signed.with_key_ends().first(),
        "masters": masters_of(sitter, article),
    }
    return render(request, "shipments/article.html", context)


@for_seat(Lot, roles=READING)
def lot(request: HttpRequest, sitter: Sitter, lot: Lot) -> HttpResponse:
    """A lot, its submissions and what may be done next."""
    context = _thing(sitter, lot)
    context["acts"] = acts.lot_acts(*context["judged"])
    outcome = "".join(context["judged"])
    context["move"] = lot_move(lot, outcome=outcome, unsigned=context["unsigned"])
    return render(request, "shipments/lot.html", context)


def _thing(sitter: Sitter, what: Any) -> dict[str, Any]:
    found = list(
        Submission.objects.visible_to(sitter)
        .filter(pk__in=what.submissions.values("pk"))
        .select_related("verdict", "lot__revision", "article__revision")
        .order_by("created_at")
    )
    signing = signings(found)
    context: dict[str, Any] = {"obj": what, "submissions": found}
    context["signed"] = list(zip(found, signing, strict=True))
    context["due"] = [one for one in signing if one.state == "missing"]
    context["unsigned"] = bool(signing) and signing[-1].state == "missing"
    context["judged"] = [
        one.verdict.outcome
        for one in found
        if one.purpose != Submission.Purpose.REJECTION and hasattr(one, "verdict")
    ][-1:]
    if sitter.seat.side in (Side.CUSTOMER, Side.SUPPLIER):
        context["offered"] = offered(what, sitter)
        context["gathers"] = what.status in acts.GATHERING[sitter.seat.side]
    return context


@for_seat(Submission, roles=READING)
def submission(request: HttpRequest, sitter: Sitter, submission: Submission) -> HttpResponse:
    """What was handed in and the verdict on it; progress while it is judged."""
    verdict = Verdict.objects.visible_to(sitter).filter(submission=submission).first()
    signing = signing_of(submission)
    files = files_of(submission)
    context: dict[str, Any] = {
        "obj": submission,
        "what": submission.what,
        "acts": acts.submission_acts(
            submission,
            sitter.seat.side,
            signed=signing.signature is not None,
            failed=bool(failed_jobs(submission)),
        ),
        "signing": signing,
        "job": job_state(queue.latest(JUDGE, submission.subject)),
        "files": files,
        "before": handed_in_before(
            submission.what,
            submission.side,
            {one["digest"]: one["name"] for one in files},
            until=submission.created_at,
        ),
    }
    if verdict is not None:
        context |= {
            "verdict": verdict,
            "view": drawn(shown(verdict), behind_of(verdict, page=True)),
            "papers": papers(sitter, verdict),
            "paper_job": paper_state(submission),
        }
    return render(request, "shipments/submission.html", context)


def papers(sitter: Sitter, verdict: Verdict) -> list[tuple[VerdictPaper, list[DocumentSeal]]]:
    """PDFs made so far with their seals, the reader's language first."""
    rows = VerdictPaper.objects.visible_to(sitter).filter(verdict=verdict)
    found = sorted(rows, key=lambda paper: (paper.language != get_language(), paper.language))
    seals = seals_of(sitter, [paper.digest for paper in found])
    return [(paper, seals.get(paper.digest, [])) for paper in found]


def paper_state(submission: Submission) -> dict[str, Any]:
    """The state of the PDFs of all languages as one."""
    states = [
        job_state(queue.latest(PAPER, f"{submission.subject}/{language}"))
        for language, _name in settings.LANGUAGES
    ]
    waiting = [state for state in states if not state["finished"]]
    failed = [state for state in states if state["state"] == "failed"]
    merged = dict((waiting or failed or states)[0])
    merged["done"] = sum(state["finished"] for state in states)
    merged["total"] = len(states)
    return merged


def progress_of(submission: Submission) -> dict[str, Any]:
    """Judging first, then the PDFs: what the page's progress shows."""
    judging = job_state(queue.latest(JUDGE, submission.subject))
    return judging if not judging["finished"] else paper_state(submission)


@for_seat(roles=READING, purpose=AGREEMENT)
def lists(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Lists of evidence signed by a lead, one's own drafts of such lists, and what is unsigned."""
    rows = SubmissionList.objects.visible_to(sitter).select_related("revision")
    context = {
        "obj": dossier,
        "lists": rows.annotate(count=Count("entries")).order_by("-created_at"),
        "acts": acts.LISTING_ACTS,
        "waiting": [(one, due_on(one)) for one in unsigned(sitter)],
    }
    return render(request, "shipments/lists.html", context)


@for_seat(SubmissionList, roles=READING)
def list_page(request: HttpRequest, sitter: Sitter, found: SubmissionList) -> HttpResponse:
    """One list: what stands on it, and its signature."""
    rows = Signature.objects.visible_to(sitter).filter(subject=found.subject)
    made = rows.with_key_ends().first()
    context = {
        "obj": found,
        "listed": listed(found, sitter),
        "signing": Signing(made, True, found.side),
        "acts": [act for act in acts.LIST_ACTS if sitter.seat.side == found.side],
    }
    return render(request, "shipments/list.html", context)


@for_seat(SubmissionList, roles=READING)
def list_document(request: HttpRequest, sitter: Sitter, found: SubmissionList) -> HttpResponse:
    """The list's canonical bytes."""
    name = f"submissions-{found.digest[:12]}.json"
    return attachment(bytes(found.bytes), name, "application/json")


def files_of(submission: Submission) -> list[dict[str, str]]:
    """Files handed in, as uploaded: measurements, then other documents; each once."""
    document = parse_submission(bytes(submission.bytes))
    names = {one.file: one.name for one in (*document.attachments, *document.measured)}
    order = dict.fromkeys(one.file for one in (*document.measured, *document.attachments))
    return [{"name": names[digest], "digest": digest} for digest in order]


@for_seat(Submission, roles=READING)
def evidence_file(
    request: HttpRequest, sitter: Sitter, submission: Submission, digest: str
) -> HttpResponse:
    """One blob of a submission, whole: only what the submission itself names."""
    document = parse_submission(bytes(submission.bytes))
    if digest not in blob_digests(document):
        raise Http404
    names = {one.file: one.name for one in (*document.attachments, *document.measured)}
    data = blobs.get(submission.dossier.chain, digest)
    return attachment(data, names.get(digest, f"{digest[:16]}.bin"), "application/octet-stream")


@for_seat(Submission, roles=READING)
def document(request: HttpRequest, sitter: Sitter, submission: Submission) -> HttpResponse:
    """The submission's canonical bytes."""
    name = f"submission-{submission.digest[:12]}.json"
    return attachment(bytes(submission.bytes), name, "application/json")


@for_seat(Verdict, roles=READING)
def verdict_document(request: HttpRequest, sitter: Sitter, verdict: Verdict) -> HttpResponse:
    """The verdict's canonical bytes."""
    name = f"verdict-{verdict.digest[:12]}.json"
    return attachment(bytes(verdict.bytes), name, "application/json")


@for_seat(VerdictPaper, roles=READING)
def paper(request: HttpRequest, sitter: Sitter, paper: VerdictPaper) -> HttpResponse:
    """The PDF."""
    data = blobs.get(paper.dossier.chain, paper.digest)
    name = f"verdict-{paper.verdict.digest[:12]}-{paper.language}.pdf"
    return attachment(data, name, "application/pdf")
