"""The drawing on the page: well-formed, escaped, and nothing in it that a strict policy would refuse."""

import re
from pathlib import Path
from typing import get_args
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given

from sessions.sheets.bike_view import bike_view
from sessions.sheets.forecast_view import forecast_view
from sessions.sheets.scene import Arc, Circle, Line, Polyline, Role, Scene, Text
from sessions.sheets.svg import scene_svg
from tests.core.sheet_examples import AERO_AFTER, AERO_BEFORE, ROAD_AFTER, ROAD_BEFORE
from tests.strategies_drawing import text_of_any_kind

SVG = "{http://www.w3.org/2000/svg}"
STYLESHEET = Path(__file__).parents[2] / "static" / "css" / "scene.css"
HOSTILE = '<script>alert(\'x\')</script> & "quoted" onload="x()" ]]> \x00\x1b'


def parsed(svg):
    return ET.fromstring(svg)


@pytest.fixture(params=[(ROAD_BEFORE, ROAD_AFTER), (AERO_BEFORE, AERO_AFTER), ({}, {})])
def svg(request):
    return scene_svg(bike_view(*request.param).scene, ident="side")


def test_it_is_one_well_formed_image_with_a_title_and_a_description(svg):
    root = parsed(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    ids = {child.get("id") for child in root if child.tag in {f"{SVG}title", f"{SVG}desc"}}
    assert set(root.get("aria-labelledby").split()) == ids == {"side-title", "side-desc"}


def test_nothing_in_it_is_refused_by_a_strict_policy(svg):
    for element in parsed(svg).iter():
        assert element.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "line", "circle", "polyline", "polygon", "text",
        }  # fmt: skip
        assert not [name for name in element.attrib if name == "style" or name.startswith("on") or "href" in name]


@given(text_of_any_kind)
def test_any_text_stays_text(text):
    scene = Scene(10, 10, text, text, (Text((1, 1), text, 2.5, "label"),))
    root = parsed(scene_svg(scene, ident=text))
    kept = re.sub("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "", text)
    # An XML parser reads every line break as a plain newline.
    assert (root.find(f"{SVG}text").text or "") == kept.replace("\r\n", "\n").replace("\r", "\n")
    assert len(list(root)) == 3


def test_hostile_text_is_escaped():
    svg = scene_svg(Scene(10, 10, HOSTILE, HOSTILE, (Text((1, 1), HOSTILE, 2.5, "label"),)), ident='x" onload="y')
    assert "<script" not in svg
    assert {name for element in parsed(svg).iter() for name in element.attrib if name.startswith("on")} == set()


def test_y_runs_down_on_the_page():
    root = parsed(scene_svg(Scene(20, 10, "", "", (Line((0, 0), (20, 10), "frame"),))))
    line = root.find(f"{SVG}line")
    assert (line.get("y1"), line.get("y2")) == ("10", "0")
    assert root.get("viewBox") == "0 0 20 10"


def test_every_kind_of_stroke_has_its_element():
    items = (
        Line((0, 0), (1, 1), "frame"),
        Circle((5, 5), 2, "frame"),
        Arc((5, 5), 2, 0, 90, "datum"),
        Polyline(((0, 0), (1, 1), (2, 0)), "after", closed=True),
        Text((1, 1), "turned", 2, "label", "middle", 90),
    )
    root = parsed(scene_svg(Scene(10, 10, "", "", items)))
    assert [child.tag.removeprefix(SVG) for child in root][2:] == ["line", "circle", "polyline", "polygon", "text"]
    assert root.find(f"{SVG}text").get("transform") == "rotate(-90 1 9)"


def test_the_stylesheet_knows_every_role_and_no_colour_of_its_own():
    css = STYLESHEET.read_text()
    drawn = set(get_args(Role)) - {"label", "note"}
    assert {role for role in drawn if f".scene-{role}" not in css} == set()
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgb|hsl", css) == []


def test_numpy_probabilities_are_drawn_too():
    numpy = pytest.importorskip("numpy")
    assert parsed(scene_svg(forecast_view(numpy.full(60, 1 / 60), 20))).tag == f"{SVG}svg"
