"""A rider says that something is put right, with a photo; the studio confirms it or does not."""

import struct
import zlib
from datetime import timedelta
from io import BytesIO

import pytest
import time_machine
from django.core.files.storage import FileSystemStorage, storages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from intake.models import Client, FindingDecision, Photo, RepairReport
from intake.models.photos import photo_storage
from intake.services.photos import (
    MOST_PHOTOS,
    NotAPictureError,
    TooManyPixelsError,
    forget_orphans,
    keep_photo,
    rewritten,
)
from intake.services.repairs import report_repair
from intake.triage.answers import Ruling
from sessions.services.review.decisions import rule_on_finding
from tests import factories
from tests.reviewing import all_answered

STUCK = "post_slides.stuck"


def drawn(kind="JPEG", size=(60, 40), mode="RGB", **options):
    """A drawn picture in the bytes of some format."""
    out = BytesIO()
    image = Image.new(mode, size, 120 if mode in {"L", "I;16"} else (200, 40, 30, 128)[: len(mode)])
    image.save(out, kind, **options)
    return out.getvalue()


def with_place():
    """A JPEG that says where it was taken and lies on its side, with a text behind its end."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Secret camera"
    exif.get_ifd(0x8825)[1] = "N"
    return drawn(exif=exif.tobytes()) + b"<script>alert(1)</script>"


def bomb():
    """A PNG of a few bytes that says it is 60 000 pixels wide and high."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


class TestPictures:
    """What becomes of a file."""

    @pytest.mark.parametrize(
        "content",
        [
            drawn(),
            drawn("PNG", mode="RGBA"),
            drawn("PNG", mode="L"),
            drawn("PNG", mode="I;16"),
            drawn("WEBP"),
            drawn("HEIF", size=(64, 48)),
            drawn("JPEG", mode="CMYK"),
            drawn("WEBP", save_all=True, append_images=[Image.new("RGB", (60, 40))]),
        ],
        ids=["jpeg", "clear png", "grey", "deep grey", "webp", "heic", "cmyk", "moving"],
    )
    def test_every_kind_of_picture_becomes_a_jpeg(self, content):
        """One frame, three colours, no remark."""
        again = Image.open(BytesIO(rewritten(content).content))
        assert (again.format, again.mode, getattr(again, "n_frames", 1)) == ("JPEG", "RGB", 1)
        assert not again.getexif()

    def test_nothing_but_the_pixels_is_kept_and_they_stand_upright(self):
        """Neither place nor camera nor what was hidden behind the picture."""
        picture = rewritten(with_place())
        assert (picture.width_px, picture.height_px) == (40, 60)
        for secret in (b"Secret", b"script", b"Exif"):
            assert secret in with_place()
            assert secret not in picture.content

    def test_large_pictures_become_smaller(self):
        """No side over 2000 px, in proportion."""
        picture = rewritten(drawn(size=(4000, 1000)))
        assert (picture.width_px, picture.height_px) == (2000, 500)

    @pytest.mark.parametrize(
        "content",
        [
            b"",
            b"not a picture",
            drawn()[:-200],
            drawn("GIF"),
            drawn("BMP"),
            b"\xff\xd8\xff",
            b"%PDF-1.4",
            drawn("PNG")[:40],
        ],
        ids=["empty", "text", "truncated", "gif", "bmp", "head", "pdf", "cut png"],
    )
    def test_what_is_no_picture_is_refused(self, content):
        """Whatever its name says."""
        with pytest.raises(NotAPictureError):
            rewritten(content)

    def test_a_bomb_is_refused_before_it_is_unpacked(self):
        """Three thousand six hundred million pixels in some seventy bytes."""
        with pytest.raises(TooManyPixelsError):
            rewritten(bomb())


@pytest.fixture
def pre_visit(fit_session):
    """A check in order but for a stuck post."""
    all_answered(fit_session, post_slides="stuck")
    return fit_session.pre_visit


@pytest.fixture
def page(rider_link):
    """The page that reports the post as put right."""
    return reverse("check:fixed", args=[rider_link.token, STUCK])


def upload(content=None, name="IMG_1.jpg"):
    """A chosen file, or none."""
    return {} if content is None else {"photo": SimpleUploadedFile(name, content, "image/jpeg")}


@pytest.mark.django_db
class TestTheRider:
    """By private link, beside the bike."""

    def test_says_that_it_is_done_with_note_and_photo(self, client, pre_visit, rider_link, page):
        """The advice no longer asks for it; the rider sees their own photo, as a picture and nothing else."""
        advice = reverse("check:advice", args=[rider_link.token])
        assert page in client.get(advice).content.decode()
        answer = client.post(page, {"done_by": "workshop", "note": "Freed and greased"} | upload(with_place()))
        assert answer["Location"].startswith(advice)
        report = RepairReport.objects.get()
        assert (report.source, report.done_by, report.note) == ("rider", "workshop", "Freed and greased")
        html = client.get(advice).content.decode()
        assert "Freed and greased" in html
        assert page not in html.replace(reverse("check:came_back", args=[rider_link.token, STUCK]), "")
        shown = client.get(reverse("check:photo", args=[rider_link.token, report.photo_id]))
        assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
        assert shown["Content-Disposition"].startswith("inline; filename=")
        assert "private" in shown["Cache-Control"]
        assert Image.open(BytesIO(shown.content)).size == (40, 60)

    def test_takes_it_back(self, client, pre_visit, rider_link, page):
        """It came back: on the list again."""
        client.post(page, {"done_by": "rider"})
        client.post(reverse("check:came_back", args=[rider_link.token, STUCK]))
        assert [each.outcome for each in RepairReport.objects.all()] == ["done", "came_back"]
        assert page in client.get(reverse("check:advice", args=[rider_link.token])).content.decode()

    @pytest.mark.parametrize(
        ("file", "sentence"),
        [
            (b"", "empty"),
            (b"just a text", "no photo that can be read"),
            (bomb(), "too many pixels"),
            (b"\xff\xd8" + b"0" * 15_000_001, "too large"),
        ],
        ids=["empty", "text", "bomb", "huge"],
    )
    def test_is_told_kindly_what_is_wrong_with_a_file(self, client, pre_visit, page, file, sentence):
        """Beside the field; the note is still there, and nothing is stored."""
        answer = client.post(
            page, {"done_by": "rider", "note": "¿See <b>photo</b>"} | upload(file, "🚲\u202e" * 60 + ".jpg")
        )
        assert answer.status_code == 422
        assert sentence in answer.content.decode()
        assert "¿See &lt;b&gt;photo&lt;/b&gt;" in answer.content.decode()
        assert (RepairReport.objects.count(), Photo.objects.count()) == (0, 0)

    def test_sending_it_twice_reports_once(self, client, pre_visit, page):
        """The same photo, too."""
        for _again in range(2):
            client.post(page, {"done_by": "rider"} | upload(drawn()))
        assert (RepairReport.objects.count(), Photo.objects.count()) == (1, 1)

    def test_no_other_page_takes_a_file_and_no_forged_form_is_taken(self, pre_visit, rider_link, page, settings):
        """Uploads are refused unread elsewhere, and the form's own token is checked."""
        from django.test import Client as Browser

        elsewhere = reverse("check:finish", args=[rider_link.token])
        assert Browser().post(elsewhere, upload(drawn())).status_code == 400
        strict = Browser(enforce_csrf_checks=True)
        assert strict.post(page, {"done_by": "rider"} | upload(drawn())).status_code == 403
        assert not RepairReport.objects.exists()

    def test_reports_nothing_on_what_is_not_there(self, client, pre_visit, rider_link):
        """A made-up finding, one that does not stand, a null byte: back to the list."""
        for key in ("post_slides.gone", "nothing", "crash.crack_seen", "a\x00b", "🚲"):
            for name in ("check:fixed", "check:came_back"):
                assert client.post(reverse(name, args=[rider_link.token, key]), {"done_by": "rider"}).status_code == 302
        assert not RepairReport.objects.exists()

    def test_sees_no_photo_of_anybody_else(self, client, pre_visit, rider_link):
        """A number that belongs to another rider opens nothing."""
        other = factories.PhotoFactory()
        assert client.get(reverse("check:photo", args=[rider_link.token, other.pk])).status_code == 404

    def test_sends_no_more_photos_than_anybody_needs(self, client, pre_visit, page):
        """A link that has leaked must not fill the disk."""
        factories.PhotoFactory.create_batch(MOST_PHOTOS, pre_visit=pre_visit)
        answer = client.post(page, {"done_by": "rider"} | upload(drawn()))
        assert answer.status_code == 422
        assert "as many photos" in answer.content.decode()

    def test_is_told_that_a_crack_waits_for_the_studio(self, client, fit_session, rider_link):
        """Their word alone lets nobody ride."""
        all_answered(fit_session, crash="crack")
        client.post(reverse("check:fixed", args=[rider_link.token, "crash.crack_seen"]), {"done_by": "workshop"})
        html = client.get(reverse("check:advice", args=[rider_link.token])).content.decode()
        assert "reported fixed, to be confirmed by the studio" in html
        assert "Do not ride this bike" in html

    def test_says_that_they_are_coming(self, client, fit_session, rider_link):
        """One tap on the private page; a second one changes nothing."""
        for _again in range(2):
            client.post(reverse("rider:confirm", args=[rider_link.token]))
        fit_session.refresh_from_db()
        assert fit_session.state == "confirmed"
        assert fit_session.history.filter(to_state="confirmed", changed_by=None).count() == 1


@pytest.mark.django_db
class TestTheStudio:
    """On the review page."""

    @pytest.fixture
    def reported(self, pre_visit):
        """A report with a photo."""
        return report_repair(
            pre_visit=pre_visit,
            finding_key=STUCK,
            source="rider",
            outcome="done",
            photo=keep_photo(pre_visit=pre_visit, picture=rewritten(drawn())),
        )

    @pytest.mark.parametrize(("answer", "ruling"), [("confirm", "fixed"), ("not_yet", "fix_first")])
    def test_confirms_with_one_tap_or_says_not_yet(
        self, fitter_client, fit_session, pre_visit, fitter_user, answer, ruling
    ):
        """Not yet: what was decided before the report is in force again. A second tap is told that it is done."""
        rule_on_finding(fit_session=fit_session, key=STUCK, ruling=Ruling.FIX_FIRST, by=fitter_user)
        report_repair(pre_visit=pre_visit, finding_key=STUCK, source="rider", outcome="done")
        assert "1 repair to confirm" in fitter_client.get(reverse("review:list"), {"show": "all"}).content.decode()
        address = reverse("review:repair", args=[fit_session.pk])
        assert fitter_client.post(address, {"finding": STUCK, "answer": answer}).status_code == 302
        latest = FindingDecision.objects.order_by("pk").last()
        assert (latest.ruling, latest.decided_by) == (ruling, fitter_user)
        assert "to confirm" not in fitter_client.get(reverse("review:list"), {"show": "all"}).content.decode()
        again = fitter_client.post(address, {"finding": STUCK, "answer": answer})
        assert again.status_code == 422
        assert FindingDecision.objects.count() == 2

    def test_sees_the_photo(self, fitter_client, fit_session, reported):
        """From the review page, by log-in only."""
        address = reverse("desk_check:photo", args=[fit_session.pre_visit_id, reported.photo_id])
        assert address in fitter_client.get(reverse("review:session", args=[fit_session.pk])).content.decode()
        assert fitter_client.get(address)["Content-Type"] == "image/jpeg"
        fitter_client.logout()
        assert fitter_client.get(address).status_code == 302

    @pytest.mark.parametrize("sent", [{}, {"finding": "a\x00", "answer": "confirm"}, {"finding": STUCK, "answer": "x"}])
    def test_refuses_what_is_forged(self, fitter_client, fit_session, reported, sent):
        """In place, with nothing stored."""
        assert fitter_client.post(reverse("review:repair", args=[fit_session.pk]), sent).status_code == 422
        assert not FindingDecision.objects.exists()


@pytest.mark.django_db(transaction=True)
class TestFiles:
    """What lies in the folder."""

    def test_a_photo_goes_with_its_rider(self, fit_session):
        """The file, too, once the deletion stands; not where it was taken back."""
        photo = keep_photo(pre_visit=fit_session.pre_visit, picture=rewritten(drawn()))
        name = photo.image.name
        with transaction.atomic():
            Client.objects.all().delete()
            transaction.set_rollback(True)
        assert photo_storage().exists(name)
        Client.objects.all().delete()
        assert not photo_storage().exists(name)

    def test_files_without_a_row_are_cleared_out_after_a_day(self, fit_session):
        """What a rolled-back transaction has left behind."""
        keep_photo(pre_visit=fit_session.pre_visit, picture=rewritten(drawn()))
        with transaction.atomic():
            keep_photo(pre_visit=fit_session.pre_visit, picture=rewritten(drawn(size=(80, 40))))
            transaction.set_rollback(True)
        kept = Photo.objects.get().image.name
        forget_orphans()
        with time_machine.travel(timezone.now() + timedelta(days=2)):
            assert forget_orphans() >= 1
            assert forget_orphans() == 0
        assert photo_storage().exists(kept)


def test_photos_are_private_on_the_disk(tmp_path):
    """Readable by the product's own user alone, outside of everything that is served."""
    from fitstudio.settings import base

    options = base.STORAGES["photos"]["OPTIONS"] | {"location": tmp_path / "photos"}
    storage = storages.create_storage(base.STORAGES["photos"] | {"OPTIONS": options})
    assert isinstance(storage, FileSystemStorage)
    name = storage.save("ab/photo.jpg", BytesIO(b"x"))
    assert (tmp_path / "photos" / name).stat().st_mode & 0o077 == 0
    assert not str(base.PRIVATE_PHOTOS).startswith((str(base.STATIC_ROOT), str(base.MEDIA_ROOT)))
