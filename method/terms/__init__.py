"""The terms: one typed document, from which forms, redlines, checks and sentences derive."""

from method.terms.combination import combination_template, combine, template_of
from method.terms.compare import Change, compare
from method.terms.describe import CLAUSE_TYPES, FieldInfo, field_of, fields_of
from method.terms.document import document, from_document, parse_terms, terms_bytes
from method.terms.draft import Finding, draft_check
from method.terms.edit import (
    with_heading,
    with_item,
    with_items,
    with_part,
    with_values,
    without_item,
    without_override,
    without_part,
)
from method.terms.errors import Problem, TermsError
from method.terms.models import CLAUSES, SCHEMA, SCHEMAS, ClauseName, Part, Resolved, Terms, new_id
from method.terms.resolve import resolve
from method.terms.schema import json_schema
from method.terms.sentences import Sentence, Word, clause_title, render, sentences
from method.terms.signing import service_held_allowed
from method.terms.starter import starter
from method.terms.upgrade import upgrade
from method.terms.words import FINDINGS, PROBLEMS, FindingWords

__all__ = [
    "CLAUSES",
    "CLAUSE_TYPES",
    "FINDINGS",
    "PROBLEMS",
    "SCHEMA",
    "SCHEMAS",
    "Change",
    "ClauseName",
    "FieldInfo",
    "Finding",
    "FindingWords",
    "Part",
    "Problem",
    "Resolved",
    "Sentence",
    "Terms",
    "TermsError",
    "Word",
    "clause_title",
    "combination_template",
    "combine",
    "compare",
    "document",
    "draft_check",
    "field_of",
    "fields_of",
    "from_document",
    "json_schema",
    "new_id",
    "parse_terms",
    "render",
    "resolve",
    "sentences",
    "service_held_allowed",
    "starter",
    "template_of",
    "terms_bytes",
    "upgrade",
    "with_heading",
    "with_item",
    "with_items",
    "with_part",
    "with_values",
    "without_item",
    "without_override",
    "without_part",
]  # fmt: skip
