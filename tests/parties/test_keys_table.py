"""The table of keys: on a narrow screen its head is gone, and each cell names its column."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from parties.transitions.keys import revoke_key
from tests.own_keys import browser_key, confirmed, in_register, passkey


def tables(page: str) -> list[tuple[list[str], list[list[str]]]]:
    """Of each table of keys its column heads, and of each row the names that its cells give."""
    found = []
    for table in re.findall(r'<div class="scroll keys"[^>]*>(.*?)</table>', page, re.DOTALL):
        head, _, body = table.partition("</thead>")
        rows = [
            [(re.findall(r'data-label="(.*?)"', cell) or [""])[0] for cell in row.split("<td")[1:]]
            for row in re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL)
        ]
        found.append((re.findall(r'<th scope="col">(.*?)</th>', head), rows))
    return found


@pytest.mark.parametrize("language", ["en", "zh-hans"])
@pytest.mark.django_db
def test_each_cell_names_its_column(cast, sign_in, language):
    by = in_register(cast, cast.supplier_lead)
    first = passkey(by)
    second = confirmed(cast, browser_key(by, replaces=first.key))
    revoke_key(second.key, by=by, reason="Lost.")
    for who, columns in ((cast.supplier_lead, 5), (cast.supplier_admin, 6)):
        browser = sign_in(who)
        browser.cookies["django_language"] = language
        url = reverse("parties:keys", kwargs={"dossier": by.dossier.pk})
        page = browser.get(url, headers={"accept-language": language}).content.decode()
        [(heads, rows)] = tables(page)
        assert len(heads) == columns and len(rows) == 2
        assert all(row == heads for row in rows)
        # what never breaks: two days of each row, and when the two keys ended
        assert len(re.findall(r'class="day"><time class="time">\d{4}-\d\d-\d\d', page)) == 6
