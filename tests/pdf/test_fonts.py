"""Fonts come from packages at set-up, and what they cannot show is found before a reader does."""

from __future__ import annotations

import subprocess
import sys

import pytest

from jobs import fonts

LATIN = "ΔE₀₀ ≤ 0.80, ΔL* −0.12, 45°:0°, ½ × 3 ± 0.1 “žščőł” ✓ → … €"
CHINESE = "色差合格，不合格，无法判定，证据不全：观察者、灯箱、标准样板、供应商。"


@pytest.fixture
def elsewhere(settings, tmp_path):
    """A set-up of its own."""
    settings.VAR_DIR = tmp_path
    return tmp_path / "fonts"


def test_set_up_copies_the_fonts_and_names_only_our_folder(elsewhere):
    files = fonts.set_up()
    assert {file.name for file in files} == {*fonts.LATIN_FILES, *fonts.CHINESE_FILES}
    assert all(file.parent == elsewhere and file.stat().st_size > 100_000 for file in files)
    text = fonts.configuration().read_text(encoding="utf-8")
    assert text.count("<dir") == 1 and '<dir prefix="relative">.</dir>' in text
    assert "<include" not in text


def test_set_up_again_changes_nothing_and_mends_a_damaged_file(elsewhere):
    files = fonts.set_up()
    before = {file: file.stat().st_mtime_ns for file in elsewhere.iterdir()}
    fonts.set_up()
    assert {file: file.stat().st_mtime_ns for file in elsewhere.iterdir()} == before
    whole = files[0].read_bytes()
    files[0].write_bytes(whole[:1000])
    fonts.set_up()
    assert files[0].read_bytes() == whole


def test_a_missing_system_font_names_its_package(elsewhere, monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(fonts, "LATIN_ROOTS", (tmp_path / "none",))
    assert fonts.main() == 1
    assert "fonts-dejavu-core" in capsys.readouterr().err


def test_a_missing_python_package_is_named(elsewhere, monkeypatch):
    monkeypatch.setattr(fonts, "CHINESE_MODULE", "no_such_fonts")
    with pytest.raises(fonts.FontsMissing, match="pylopdf-fonts-zh-cn"):
        fonts.set_up()


def test_before_set_up_everything_says_so(elsewhere):
    with pytest.raises(fonts.FontsMissing, match=r"python -m jobs\.fonts"):
        fonts.configuration()
    with pytest.raises(fonts.FontsMissing, match=r"python -m jobs\.fonts"):
        fonts.missing("a")


def test_the_command_runs_by_itself(tmp_path, settings):
    done = subprocess.run(
        [sys.executable, "-m", "jobs.fonts"],
        cwd=settings.BASE_DIR,
        env={"COUNTERSHADE_VAR_DIR": str(tmp_path), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "fonts" / "fonts.conf").is_file()


def test_our_words_can_be_shown(our_fonts):
    assert fonts.missing(LATIN + CHINESE) == set()


@pytest.mark.parametrize("planted", ["\U0001f3a8", "ꦀ", "\ue000", "한"])
def test_a_planted_missing_glyph_is_found(our_fonts, planted):
    assert fonts.missing(f"{LATIN}{planted}{CHINESE}") == {planted}


def test_line_ends_and_soft_hyphens_need_no_glyph(our_fonts):
    assert fonts.missing("a\u00adb\r\n\tc\u200b") == set()
