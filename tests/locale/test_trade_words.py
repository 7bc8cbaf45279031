"""The Chinese catalogue says one thing with one word, and with the trade's word."""

from __future__ import annotations

import re

import pytest
from babel.messages import Catalog
from babel.messages.pofile import read_po

from tests.house.source import ROOT
from tests.locale.test_catalogues import PLACEHOLDER, pairs

# Whenever the English says it, the Chinese does. The first four are those of the people we build
# for; the others stand in standards (colour, sampling) or are the word settled on here.
TRADE = {
    r"\bsealed samples?\b": "封样",
    r"\blimit samples?\b": "限度样",
    r"\bfirst articles?\b": "首件",
    r"\bconcessions?\b": "让步接收",
    r"\bmasters?\b": "主标样",
    r"\bretained pieces?\b": "留样件",
    r"\bmetamerism\b": "同色异谱",
    r"\btolerances?\b": "容差",
    r"\bcolour differences?\b": "色差",
    r"\bviewing booths?\b": "对色灯箱",
    r"\billuminants?\b": "照明体",
    r"\bacceptance number\b": "接收数",
    r"\bhue arrangement test\b": "色相排列测试",
    r"\bnonconforming\b": "不合格",
    r"\bsupplier\b": "供方",
    r"\bcustomer\b": "需方",
    r"\bdeput(y|ies)\b": "代理负责人",
    r"\bverdicts?\b": "判定",
    r"\breading log\b": "查阅日志",
}
# Words that stood beside another for the same thing, and the one that stayed.
DISPLACED = {
    "标准光源箱": "对色灯箱",
    "公差": "容差",
    "反射率": "反射比",
    "标准样": "标样",
    "色子": "色棋",
    "色帽": "色棋",
    "客户": "需方",
    "供应商": "供方",
    "副手": "代理负责人",
    "登记册": "台账",
    "登记簿": "台账",
    "读取日志": "查阅日志",
    "阅读日志": "查阅日志",
    "散列": "哈希",
    "链条": "链",
    "盖章": "封章",
    "校验程序": "验证程序",
    "签署记录": "签名记录",
    "本安装": "本系统",
    "您这一方": "贵方",
}
HAN = r"[\u4e00-\u9fff]"
# A mark of half width after a Chinese character, or between a filled-in value and one.
NARROW = re.compile(rf"(?<={HAN})[,:;?!](?!\w)|(?<={HAN})\(|[,;?!](?={HAN})|:(?={HAN})")


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """The Chinese catalogue."""
    with (ROOT / "locale" / "zh_Hans" / "LC_MESSAGES" / "django.po").open("rb") as stream:
        return read_po(stream, locale="zh_Hans", charset="utf-8")


@pytest.mark.parametrize(("english", "word"), TRADE.items(), ids=TRADE.values())
def test_the_trades_word_stands_wherever_the_english_says_it(catalog, english, word):
    said = [
        (text, words)
        for _message, text, words in pairs(catalog)
        if re.search(english, PLACEHOLDER.sub("", text), re.IGNORECASE)
    ]
    assert said
    assert [one for one in said if word not in one[1]] == []


def test_no_displaced_word_has_come_back(catalog):
    found = [
        f"{old} ({new}): {words}"
        for _message, _english, words in pairs(catalog)
        for old, new in DISPLACED.items()
        if old in words
    ]
    assert found == []


def test_marks_are_of_full_width(catalog):
    assert [words for _m, _english, words in pairs(catalog) if NARROW.search(words)] == []


@pytest.mark.parametrize("text", ["警报:自检", "开始时间(UTC)", "存在,但", "%(words)s:中"])
def test_a_planted_narrow_mark_is_found(text):
    assert NARROW.search(text)


def test_it_stays_marked_for_a_native_reader(catalog):
    assert "Marked for review by a native reader of the trade." in catalog.header_comment
