"""Which package may import which, how, and where signals and Django are forbidden."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.house.source import APPS, PACKAGES, PURE, ROOT, Finding, Source, called, literal, sources

EVERYTHING = frozenset(PACKAGES)
MAY_IMPORT: dict[str, frozenset[str]] = {
    "colorimetry": frozenset(),
    "jobs": frozenset(),
    "ledger": frozenset(),
    "method": frozenset({"colorimetry"}),
    "config": EVERYTHING,
    "fixtures": EVERYTHING,
} | {
    app: frozenset(APPS[:place]) | PURE | {"jobs"}
    for place, app in enumerate(APPS)
    if app != "ledger"
}
# The canonical form is pure and lives in the ledger; the rest of it is closed to `method`.
SINGLE_MODULES = {"method": frozenset({"ledger.canonical"})}
FOREIGN_TO_PURE = frozenset(
    {"django", "rest_framework", "celery", "redis", "psycopg", "weasyprint"}
)
RELATIONS = frozenset({"ForeignKey", "OneToOneField", "ManyToManyField", "get_model"})
DYNAMIC = frozenset({"import_module", "__import__", "import_string"})


def imported(source: Source, node: ast.AST) -> Iterator[str]:
    """Dotted names that an import statement reaches; relative ones resolved."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        base = node.module or ""
        if node.level:
            here = source.module.split(".")
            if source.path.name != "__init__.py":
                here = here[:-1]
            above = here[: len(here) - (node.level - 1)]
            base = ".".join([*above, *filter(None, [node.module])])
        # `from ledger import canonical` reaches ledger.canonical.
        yield from (f"{base}.{alias.name}" for alias in node.names)


def allowed(package: str, target: str) -> bool:
    """Whether a module of `package` may import the dotted name `target`."""
    top = target.split(".")[0]
    if top not in EVERYTHING or top == package or top in MAY_IMPORT[package]:
        return True
    return any(
        target == module or target.startswith(module + ".")
        for module in SINGLE_MODULES.get(package, ())
    )


def upward(source: Source) -> Iterator[Finding]:
    """Imports that the table does not allow, wherever in the file they stand."""
    for node in ast.walk(source.tree):
        for target in imported(source, node):
            if not allowed(source.package, target):
                yield source.finding(
                    node,
                    "upward-import",
                    f"{source.package} may not import {target}: reach up by URL name or "
                    "jobs.enqueue, or let the upper app gather",
                )


def by_name(source: Source) -> Iterator[Finding]:
    """Reaching up by a string: a dynamic import, a relation or a registry look-up."""
    for node in ast.walk(source.tree):
        if not isinstance(node, ast.Call) or called(node) not in RELATIONS | DYNAMIC:
            continue
        given = [*node.args[:1], *(k.value for k in node.keywords if k.arg in {"to", "app_label"})]
        for target in filter(None, map(literal, given)):
            if not allowed(source.package, target):
                message = f"{called(node)}({target!r}) goes round the import table"
                yield source.finding(node, "upward-import", message)


def hidden(source: Source) -> Iterator[Finding]:
    """Imports of our own modules inside functions."""
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    seen: set[ast.AST] = set()
    for function in (n for n in ast.walk(source.tree) if isinstance(n, functions)):
        for node in ast.walk(function):
            own = [t for t in imported(source, node) if t.split(".")[0] in EVERYTHING]
            if not own or node in seen or registers(source, function, own):
                continue
            seen.add(node)
            message = f"{function.name}() hides the import of {', '.join(own)}: move it to the top"
            yield source.finding(node, "hidden-import", message)


def registers(source: Source, function: ast.AST, targets: list[str]) -> bool:
    """The one excuse: `AppConfig.ready()` of an app that loads its own tasks or checks.

    Django hands out models only after all apps are loaded, so that registration has to wait for it.
    """
    return (
        source.name == f"{source.package}/apps.py"
        and getattr(function, "name", "") == "ready"
        and all(target.startswith(f"{source.package}.") for target in targets)
    )


def impure(source: Source) -> Iterator[Finding]:
    """Django and its kin in the pure packages."""
    if source.package not in PURE and source.name != "ledger/canonical.py":
        return
    for node in ast.walk(source.tree):
        for target in imported(source, node):
            if target.split(".")[0] in FOREIGN_TO_PURE:
                message = f"{source.package} is pure: it may not know {target}"
                yield source.finding(node, "impure-import", message)


def heavy_verifier(source: Source) -> Iterator[Finding]:
    """The verifier runs apart from all of this: standard library, `cryptography`, itself."""
    if not source.name.startswith("ledger/verify/"):
        return
    for node in ast.walk(source.tree):
        for target in imported(source, node):
            alone = target.startswith("ledger.verify.") or target == "ledger.verify"
            top = target.split(".")[0]
            if not alone and top not in sys.stdlib_module_names | {"cryptography"}:
                message = f"the verifier may not know {target}"
                yield source.finding(node, "verifier-import", message)


def signals(source: Source) -> Iterator[Finding]:
    """Signals as glue; only `post_migrate` is of use (it re-creates triggers)."""
    for node in ast.walk(source.tree):
        for target in imported(source, node):
            glue = target.startswith(("django.dispatch.", "django.core.signals."))
            if target.startswith("django.db.models.signals."):
                glue = not target.endswith(".post_migrate")
            if glue or target in {"django.db.models.signals", "django.dispatch"}:
                yield source.finding(node, "signal", f"{target}: call the function instead")


def findings(root: Path = ROOT) -> list[Finding]:
    """All findings of this module over a tree."""
    rules = (upward, by_name, hidden, impure, heavy_verifier, signals)
    return [found for source in sources(root) for rule in rules for found in rule(source)]
