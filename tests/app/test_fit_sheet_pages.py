"""The fit sheet: who sees it and when, one content on page and print, and the numbers are those that were measured."""

import html
import io
import re

import pdfplumber
import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from sessions.models import ComponentChange, PartToOrder
from sessions.selectors.bench.records import bench_of
from sessions.selectors.bench.sheet_content import fit_sheet_of
from sessions.services.bench.details import save_discomfort_after, save_notes
from sessions.services.bench.readings import Without, save_readings
from sessions.services.bench.records import close_record, reopen_record
from tests import factories
from tests.app.bench_help import AFTER, BEFORE, address, begun, closed, keep, settle

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(fit_session, rider_link):
    """A record with a whole position before and after, still open."""
    begun_record = begun(fit_session)
    keep(begun_record, "before", BEFORE)
    keep(begun_record, "after", AFTER)
    return begun_record


def text_of(response):
    """What a page says, without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def rider(name, link):
    """The address of a rider's page."""
    return reverse(f"rider:{name}", args=[link.token])


def printed(response):
    """The words on a PDF, page after page."""
    with pdfplumber.open(io.BytesIO(response.content)) as pdf:
        return "\n".join(page.extract_text() for page in pdf.pages)


def test_the_rider_sees_the_sheet_once_the_session_is_closed(client, record, rider_link):
    """Before that a kind page says so; while it is put right it is away again; then it is back."""

    def is_there():
        page, paper = (client.get(rider(name, rider_link)) for name in ("fit_sheet", "fit_sheet_pdf"))
        assert (paper.status_code == 200) is ("739.6" in text_of(page))
        return paper.status_code == 200

    assert not is_there()
    assert "The fitter is still writing it." in text_of(client.get(rider("fit_sheet", rider_link)))
    closed(record)
    assert is_there()
    assert client.get(rider("fit_sheet_pdf", rider_link))["Content-Type"] == "application/pdf"
    reopen_record(record=record, by=None, note="slip")
    assert not is_there()
    close_record(record=record, by=None)
    assert is_there()


def test_before_the_session_nothing_is_promised(client, fit_session, rider_link):
    """It will stand there after the session."""
    response = client.get(rider("fit_sheet", rider_link))
    assert "It will stand here after your session." in text_of(response)


def test_only_this_riders_open_link_opens_it(client, record, rider_link):
    """Another rider's link shows theirs, a forged one nothing, a revoked one says so."""
    closed(record)
    other = factories.FitSessionFactory(studio=record.fit_session.studio, occupancy=False)
    theirs = factories.RiderLinkFactory(pre_visit=other.pre_visit)
    assert "It will stand here after your session." in text_of(client.get(rider("fit_sheet", theirs)))
    assert client.get(rider("fit_sheet", rider_link).replace(rider_link.token, "made.up")).status_code == 404
    rider_link.revoked_at = timezone.now()
    rider_link.save()
    for name in ("fit_sheet", "fit_sheet_pdf"):
        assert client.get(rider(name, rider_link)).status_code == 410


def test_staff_see_it_at_any_time(client, fitter_user, record):
    """Marked as not closed yet; strangers are sent to the log-in; without a record it leads to the bench."""
    path = address("fit_sheet", record)
    assert client.get(path).status_code == client.get(address("fit_sheet_pdf", record)).status_code == 302
    client.force_login(fitter_user)
    assert "Not closed yet" in text_of(client.get(path))
    closed(record)
    assert "Not closed yet" not in text_of(client.get(path))
    bare = factories.FitSessionFactory(studio=record.fit_session.studio, occupancy=False)
    for name in ("fit_sheet", "fit_sheet_pdf"):
        assert client.get(reverse(f"bench:{name}", args=[bare.pk]))["Location"] == reverse("bench:home", args=[bare.pk])
        assert client.post(reverse(f"bench:{name}", args=[bare.pk])).status_code == 405


def test_the_numbers_on_the_print_are_those_that_were_measured(fitter_client, record):
    """Read back from the PDF: every reading of a consistent set stands on its row, before and after, to a tenth."""
    said = printed(fitter_client.get(address("fit_sheet_pdf", record)))
    rows = {
        "Saddle height": ("728.0", "739.6", "+11.6"),
        "Saddle setback to the nose": ("60.0", "60.0", "0.0"),
        "Nose-to-hood distance": ("543.3", "532.5", "−10.8"),
        "Saddle-to-hood drop": ("60.0", "52.0", "−8.0"),
        "Hood height above the floor, left": ("910.0", "930.0", "+20.0"),
        "Hood reach, right": ("480.0", "470.0", "−10.0"),
        "Bottom bracket height above the floor": ("270.0", "270.0", "0.0"),
    }
    for label, figures in rows.items():
        line = next(line for line in said.splitlines() if label in line)
        found = [float(text.replace("−", "-")) for text in re.findall(r"[+−]?\d+\.\d", line.split(label)[1])]
        expected = [float(text.replace("−", "-")) for text in figures]
        assert found[:3] == pytest.approx(expected, abs=0.11), label
    assert "Crank length 172.5 –" in said


def test_page_and_print_say_the_same(fitter_client, record):
    """One content builder: every figure of the table stands on both, and both are the builder's."""
    sheet = fit_sheet_of(bench_of(record.fit_session_id).record)
    page = text_of(fitter_client.get(address("fit_sheet", record)))
    paper = printed(fitter_client.get(address("fit_sheet_pdf", record)))
    assert len(sheet.rows) > 12
    for row in sheet.rows:
        figures = f"{row.before} {row.after} {row.change} {row.uncertainty}"
        assert f"{row.label} {figures}" in page
        assert f"{row.label} {figures}" in paper
    for side in sheet.side_rows:
        figures = f"{side.left} {side.right} {side.difference} {side.uncertainty}"
        assert figures in page
        assert figures in paper


def test_the_same_record_prints_the_same_bytes(fitter_client, record, rider_link):
    """Whoever asks, and however often."""
    closed(record)
    first = fitter_client.get(address("fit_sheet_pdf", record)).content
    assert first == fitter_client.get(address("fit_sheet_pdf", record)).content
    assert first == fitter_client.get(rider("fit_sheet_pdf", rider_link)).content


@pytest.mark.parametrize(
    ("asked", "size_mm"),
    [("", (210, 297)), ("?paper=A4", (210, 297)), ("?paper=Letter", (215.9, 279.4)), ("?paper=%00", (210, 297))],
)
def test_the_paper_is_the_studios_unless_another_is_asked_for(fitter_client, record, asked, size_mm):
    """ISO 216 A4, and US Letter of 8½ by 11 inches; an unknown paper is the studio's own."""
    response = fitter_client.get(address("fit_sheet_pdf", record) + asked)
    box = pypdf.PdfReader(io.BytesIO(response.content)).pages[0].mediabox
    assert (float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4) == pytest.approx(size_mm, abs=0.2)


@pytest.mark.parametrize(
    ("name", "latin", "expected"),
    [
        ("Zoë Müller-Þórsdóttir", "", "zoe-muller-orsdottir"),
        ("山田 太郎", "Yamada Taro", "yamada-taro"),
        ("山田 太郎", "", ""),
        ('"; rm -rf /\\', "", "rm-rf"),
    ],
)
def test_the_file_has_a_sane_name(fitter_client, record, name, latin, expected):
    """Shown in the browser, named by the day and by Latin letters only."""
    client = record.fit_session.client
    client.name, client.latin_name = name, latin
    client.save()
    header = fitter_client.get(address("fit_sheet_pdf", record))["Content-Disposition"]
    day = f"{record.fit_session.starts_at:%Y-%m-%d}"
    wanted = "-".join(part for part in ("fit-sheet", day, expected) if part)
    assert header == f'inline; filename="{wanted}.pdf"'


def test_lengths_are_in_the_riders_unit(fitter_client, record):
    """28.66 in for 728 mm (NIST SP 811: one inch is exactly 25.4 mm); angles stay degrees."""
    client = record.fit_session.client
    client.length_unit = "in"
    client.save()
    page = text_of(fitter_client.get(address("fit_sheet", record)))
    assert f"Saddle height {728 / 25.4:.2f} {739.6 / 25.4:.2f}" in page
    assert "lengths in inches" in page
    assert "Saddle height 28.66 29.12" in printed(fitter_client.get(address("fit_sheet_pdf", record)))


def test_an_empty_record_is_a_sheet_too(fitter_client, fit_session):
    """Nothing measured, nothing changed: dashes, not errors."""
    empty = begun(fit_session)
    page = fitter_client.get(address("fit_sheet", empty))
    assert page.status_code == 200
    assert "Nothing has been measured." in text_of(page)
    assert "No position has been measured yet." in printed(fitter_client.get(address("fit_sheet_pdf", empty)))


def test_a_position_that_was_never_measured_again(fitter_client, fit_session):
    """The one line that is drawn is called before, and no change is told."""
    only_before = begun(fit_session)
    keep(only_before, "before", BEFORE)
    sheet = fit_sheet_of(bench_of(fit_session.pk).record)
    assert {row.change for row in sheet.rows} == {"–"}
    assert sheet.words.drawing.after == "before"
    assert fitter_client.get(address("fit_sheet_pdf", only_before)).status_code == 200


def test_what_was_not_touched_says_so(fitter_client, record):
    """No change is claimed with an uncertainty that nobody measured."""
    save_readings(record=record, phase="after", given={"crank_length": Without.UNCHANGED}, by=None)
    page = text_of(fitter_client.get(address("fit_sheet", record)))
    assert "Crank length 172.5 172.5 not touched – –" in page
    assert "Crank length 172.5 172.5 not touched – –" in printed(fitter_client.get(address("fit_sheet_pdf", record)))


def test_aero_bars_and_forty_changes_do_not_break_the_page(fitter_client, record):
    """Pads on the drawing and in the table, everything on two or three pages, the same on the page."""
    pads = {
        "pad_height_left": 950,
        "pad_height_right": 952,
        "pad_reach_left": 330,
        "pad_reach_right": 331,
        "pad_width": 170,
    }
    keep(record, "before", pads)
    keep(record, "after", {key: value + 10 for key, value in pads.items()})
    ComponentChange.objects.bulk_create(
        ComponentChange(
            fit_record=record, component="other", was=f"worn part {n}", now=f"new part {n}", request_key=str(n)
        )
        for n in range(40)
    )
    response = fitter_client.get(address("fit_sheet_pdf", record))
    said = printed(response)
    assert all(f"new part {n}" in said for n in range(40))
    assert "Pad width" in said
    assert len(pypdf.PdfReader(io.BytesIO(response.content)).pages) <= 4
    page = text_of(fitter_client.get(address("fit_sheet", record)))
    assert all(f"worn part {n} → new part {n}" in page for n in range(40))


def test_everything_else_that_was_kept_stands_on_it(fitter_client, record):
    """Discomfort before and after, parts, notes, the next visit, the safety list and the cautions."""
    check = record.fit_session.pre_visit
    factories.DiscomfortFactory(pre_visit=check, area="knee_front", side="right", score=6)
    save_discomfort_after(record=record, area="knee_front", side="right", score=2)
    PartToOrder.objects.create(fit_record=record, part="Stem 80 mm", why="numb hands", request_key="1")
    save_notes(record=record, notes="Ride easy for a week.", seen="")
    settle(record, carbon_paste="not_applicable")
    for said in (
        text_of(fitter_client.get(address("fit_sheet", record))),
        " ".join(printed(fitter_client.get(address("fit_sheet_pdf", record))).split()),
    ):
        assert "Knee, front, right 6 2" in said
        assert "Stem 80 mm: numb hands" in said
        assert "Ride easy for a week." in said
        assert "Both brakes stop the bike" in said
        assert "Carbon assembly compound" not in said
        assert "with a torque" in said
        assert "Not done at the studio" not in said


def test_what_was_not_done_leads_the_cautions(fitter_client, record):
    """The rider reads it before anything else that warns: do not ride until it is done."""
    settle(record, brakes="not_done")
    sheet = fit_sheet_of(bench_of(record.fit_session_id).record)
    assert sheet.cautions[0].startswith("Not done at the studio: Both brakes stop the bike.")
    assert "Do not ride until a qualified mechanic has done it." in sheet.cautions[0]
    said = " ".join(printed(fitter_client.get(address("fit_sheet_pdf", record))).split())
    assert "Not done at the studio: Both brakes stop the bike." in said
    assert "Both brakes stop the bike: not done, the rider was told" in said


@pytest.mark.parametrize(
    "name",
    [
        "Þorbjörg Ŀluís Ðurić",
        "Αλέξανδρος Παπαδόπουλος",
        "Екатерина Щукина",
        "山田 太郎",
        "<script>alert(1)</script>",
        "\u05e9\u05dc\u05d5\u05dd",
    ],
)
def test_names_of_every_script_are_on_it(fitter_client, record, name):
    """As they are written, escaped on the page."""
    client = record.fit_session.client
    client.name = name
    client.save()
    page = fitter_client.get(address("fit_sheet", record))
    assert name in text_of(page) or "script" in name
    assert "<script>alert" not in page.content.decode()
    assert fitter_client.get(address("fit_sheet_pdf", record)).status_code == 200


def test_the_page_is_for_a_screen_reader_too(fitter_client, record):
    """Tables with headed rows and columns, drawings with a title and a description that tell the figures."""
    page = fitter_client.get(address("fit_sheet", record)).content.decode()
    assert page.count("<h1") == 1
    assert '<th scope="row">Saddle height</th>' in page
    description = re.search(r'<desc id="side-desc">(.*?)</desc>', page)[1]
    assert "A Saddle height: 739.6 (+11.6) mm" in html.unescape(description)
    assert "style=" not in page


@pytest.mark.parametrize("name", ["fit_sheet", "fit_sheet_pdf"])
def test_it_asks_the_database_the_same_however_much_it_holds(fitter_client, record, name, django_assert_num_queries):
    """Six for what it says: the session, readings, safety list, changes, parts, discomfort; two for who asks."""
    path = address(name, record)
    with django_assert_num_queries(8):
        fitter_client.get(path)
    settle(record)
    for area in ("neck", "upper_back"):
        factories.DiscomfortFactory(pre_visit=record.fit_session.pre_visit, area=area)
    for number in range(12):
        PartToOrder.objects.create(fit_record=record, part=f"part {number}", request_key=str(number))
        ComponentChange.objects.create(fit_record=record, component="other", now="new", request_key=str(number))
    with django_assert_num_queries(8):
        fitter_client.get(path)
