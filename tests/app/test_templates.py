"""What every template keeps to, so that the strict content policy and the shared look hold."""

import re
from pathlib import Path

import pytest
from django.template.loader import get_template, render_to_string

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
PAGES = [path for path in TEMPLATES if "mail" not in path.name]
# The policy refuses these in any page; an outside address would also tell another site who reads what.
REFUSED = re.compile(
    r"""\sstyle=|<style|<script(?![^>]*\ssrc=)|\son[a-z]+=|hx-on|href="\#"|(?:src|href)=["'](?:https?:)?//|"js:"""
)
ERROR_PAGES = ["400.html", "403.html", "403_csrf.html", "404.html", "405.html", "410.html", "500.html"]
VERDICTS = ["do_not_ride", "fix_first", "ask_rider", "bring_parts", "clear"]


def name_of(path: Path) -> str:
    """Return the path as a template is asked for."""
    return path.relative_to(ROOT / "templates").as_posix()


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_every_template_compiles(path):
    """No page waits for its first visitor to show a mistake in a tag."""
    assert get_template(name_of(path))


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_nothing_inline_and_nothing_from_outside(path):
    """Styles and scripts are files of our own."""
    assert not REFUSED.findall(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_only_the_bases_write_the_first_heading(path):
    """One page, one h1: pages fill the block, the bases write the element."""
    assert ("<h1" in path.read_text(encoding="utf-8")) == (name_of(path) in {"base.html", "error_base.html"})


@pytest.mark.parametrize("name", ERROR_PAGES)
def test_error_pages_stand_alone(name):
    """They are written without a request, since nothing may be working when they are needed."""
    html = render_to_string(name)
    assert html.count("<h1>") == 1
    assert 'href="#main"' in html
    assert 'class="button"' in html


@pytest.mark.parametrize("verdict", VERDICTS)
def test_each_verdict_has_a_word_and_a_shape_of_its_own(verdict):
    """Colour is never alone: no two verdicts share their word or their drawing."""
    marks = {v: render_to_string("intake/_verdict.html", {"verdict": v}) for v in VERDICTS}
    shapes = {v: re.search(r"<svg.*</svg>", html, re.DOTALL)[0] for v, html in marks.items()}
    words = {v: re.sub(r"<[^>]+>", "", html).strip() for v, html in marks.items()}
    assert words[verdict]
    assert list(shapes.values()).count(shapes[verdict]) == 1
    assert list(words.values()).count(words[verdict]) == 1


@pytest.mark.parametrize("state", ["locked", "limited", "free"])
def test_each_adjustment_state_has_a_word_and_a_shape(state):
    """Locked, limited and free are told apart without colour."""
    html = render_to_string("intake/_adjustment_mark.html", {"state": state})
    assert "<svg" in html
    assert state in re.sub(r"<[^>]+>", "", html)


def test_progress_says_minutes_in_words():
    """One minute and several are both said properly, and no estimate is left out."""
    one = render_to_string("_progress.html", {"done": 22, "total": 23, "minutes_left": 1})
    several = render_to_string("_progress.html", {"done": 7, "total": 23, "minutes_left": 12})
    assert "about 1 minute left" in one
    assert "about 12 minutes left" in several
    assert "left" not in render_to_string("_progress.html", {"done": 7, "total": 23})
    assert 'max="23"' in several
    assert 'value="7"' in several


@pytest.mark.parametrize("path", sorted((ROOT / "static").rglob("*.css")), ids=lambda path: path.name)
def test_stylesheets_fetch_nothing_from_outside(path):
    """No font, picture or sheet comes from another address."""
    assert not re.search(r"@import|url\(\s*['\"]?(?:https?:)?//", path.read_text(encoding="utf-8"))
