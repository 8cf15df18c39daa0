"""The owner's back room: every table is there, readable and findable, and what happened stays as it was."""

from datetime import date, time, timedelta

import pytest
from django import forms
from django.apps import apps
from django.contrib import admin
from django.core.exceptions import FieldDoesNotExist
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from intake.edge.admin import KeptAdmin
from intake.models import (
    Client,
    FindingDecision,
    LearningWeights,
    MailAttachment,
    OutgoingMail,
    RedFlagNote,
    Reminder,
    RiderLink,
    TriageSummary,
)
from intake.services.experience import learn_from
from intake.tasks import send_waiting_mail
from sessions.models import (
    BodyMeasure,
    ClosingStep,
    Closure,
    ComponentChange,
    FitSession,
    OpeningHours,
    PartToOrder,
    Reading,
    RemedyCosts,
    SafetyEntry,
    Service,
    SlotDecision,
    SolvedPosition,
    StateChange,
    Studio,
    TimeLoss,
)
from tests import factories

pytestmark = pytest.mark.django_db

OURS = [*apps.get_app_config("intake").get_models(), *apps.get_app_config("fit_sessions").get_models()]
REGISTERED = sorted(admin.site._registry, key=lambda model: model._meta.label)


@pytest.fixture
def owner_client(client, owner_user):
    """A browser in which the owner is logged in."""
    client.force_login(owner_user)
    return client


def a_session_with_everything(studio, user):
    """Write at least one row of every model."""
    fit_session = factories.FitSessionFactory(studio=studio, starts_at=next_start(studio))
    pre_visit = fit_session.pre_visit
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="crash", option="no", answered_by=user)
    factories.DiscomfortFactory(pre_visit=pre_visit)
    factories.RiderLinkFactory(pre_visit=pre_visit)
    mail = factories.OutgoingMailFactory(client=fit_session.client)
    MailAttachment.objects.create(mail=mail, filename="a.ics", media_type="text/calendar", content=b"BEGIN")
    a_job_sheet(pre_visit)
    FindingDecision.objects.create(pre_visit=pre_visit, finding_key="crash.fall", ruling="accept", decided_by=user)
    RedFlagNote.objects.create(pre_visit=pre_visit, note="Will see a doctor.", noted_by=user)
    Reminder.objects.create(pre_visit=pre_visit, mail=mail, **REMINDED)
    factories.RepairReportFactory(pre_visit=pre_visit, photo=factories.PhotoFactory(pre_visit=pre_visit))
    pre_visit.question_requests.create(check_keys=["crash"], asked_by=user, mail=mail)
    pre_visit.outcomes.create(area="neck", finding_key="hose_slack.taut", rode=True, score_before=4, score_now=1)
    TriageSummary.objects.create(pre_visit=pre_visit, verdict="clear", readiness_pct=99, **SUMMARY)
    factories.TriageSnapshotFactory(pre_visit=pre_visit)
    factories.CatalogueEditionFactory(state="retired", made_by=user)
    factories.CatalogueVersionFactory()
    SlotDecision.objects.create(fit_session=fit_session, choice="keep", decided_by=user)
    StateChange.objects.create(fit_session=fit_session, to_state="booked", changed_by=user)
    a_fit_record(fit_session, user)
    factories.TriageSnapshotFactory(pre_visit=pre_visit, moment="day")
    learn_from(pre_visit=pre_visit, lost_min={"post_slides.stuck": 25})
    LearningWeights.objects.get_or_create(pk=1)
    Closure.objects.create(studio=studio, first_day="2026-12-24", last_day="2026-12-26")
    RemedyCosts.objects.get_or_create(studio=studio)
    send_waiting_mail.enqueue()
    return fit_session


REMINDED = {"starts_on": "2026-12-04", "occasion": "one_day", "reminded_on": "2026-12-03"}
SUMMARY = {"chance_to_plan": 1, "expected_bench_min": 0, "computed_on": "2026-11-25", "catalogue_version": "2026.1"}


def a_job_sheet(pre_visit):
    """Write a workshop's sheet with an answer and a request for a new link."""
    factories.WorkshopFactory()
    line = factories.JobLineFactory(job_sheet__pre_visit=pre_visit)
    factories.JobLinkFactory(job_sheet=line.job_sheet)
    line.answers.create(outcome="done", answered_by="Ada")
    line.job_sheet.requests.create(asked_on="2026-12-01")


def a_fit_record(fit_session, user):
    """Write a fit record with one row of each kind."""
    record = factories.FitRecordFactory(fit_session=fit_session, closed_by=user)
    reading = {
        "phase": "before",
        "quantity": "drop",
        "value": 60.0,
        "sigma": 1.5,
        "instrument": "tape",
        "taken_by": user,
    }
    Reading.objects.create(fit_record=record, as_typed="60", **reading)
    SolvedPosition.objects.create(fit_record=record, phase="before")
    BodyMeasure.objects.create(fit_record=record, measure="inseam", value_mm=840, as_typed="840")
    ComponentChange.objects.create(fit_record=record, component="stem", now="100 mm", request_key="1")
    PartToOrder.objects.create(fit_record=record, part="A stem of 90 mm", request_key="1")
    SafetyEntry.objects.create(fit_record=record, item="brakes", state="done", entered_by=user)
    TimeLoss.objects.create(fit_record=record, finding_key="post_slides.stuck", minutes=25)
    ClosingStep.objects.create(fit_record=record, kind="closed", taken_by=user)


def next_start(studio):
    """Return a start after every session there is."""
    last = FitSession.objects.filter(studio=studio).order_by("-starts_at").first()
    return last.starts_at + timedelta(days=1) if last else factories.weekday_from_now(14, 10)


@pytest.fixture
def full_studio(studio, owner_user):
    """A studio in which every table has a row."""
    a_session_with_everything(studio, owner_user)
    return studio


def test_every_model_of_the_product_is_there():
    """A table that the owner cannot open would be kept behind their back."""
    assert [model for model in OURS if not admin.site.is_registered(model)] == []


@pytest.mark.parametrize("model", REGISTERED, ids=lambda model: model._meta.label)
def test_every_page_of_every_table_opens(model, owner_client, full_studio, owner_user):
    """List, search, add or its refusal, one row, its history and the question before deleting."""
    meta = model._meta
    name = f"admin:{meta.app_label}_{meta.model_name}"
    listed = owner_client.get(reverse(f"{name}_changelist"), {"q": "rider x\u0000"} if model is Client else {"q": "a"})
    assert listed.status_code in {200, 302}
    assert owner_client.get(reverse(f"{name}_changelist")).status_code == 200
    may_add = admin.site._registry[model].has_add_permission(_request(owner_client))
    assert owner_client.get(reverse(f"{name}_add")).status_code == (200 if may_add else 403)
    row = model._default_manager.order_by("pk").first()
    if model._meta.label == "auth.Group":
        return
    for page in ("change", "history", "delete"):
        answer = owner_client.get(reverse(f"{name}_{page}", args=[row.pk]))
        assert answer.status_code in ({200, 403} if page == "delete" else {200}), page


def _request(client):
    return client.get(reverse("admin:index")).wsgi_request


@pytest.mark.parametrize("model", OURS, ids=lambda model: model._meta.label)
def test_no_table_is_a_raw_wall_of_fields(model, owner_client):
    """Lists name several columns; a long form is grouped under headings; nobody types JSON."""
    registered = admin.site._registry[model]
    request = _request(owner_client)
    assert registered.list_display != ("__str__",)
    fieldsets = registered.get_fieldsets(request)
    if sum(len(options["fields"]) for _heading, options in fieldsets) > 9:
        assert len(fieldsets) > 1
        assert all(heading for heading, _options in fieldsets[1:])
    if not isinstance(registered, KeptAdmin):
        fields = registered.get_form(request)().fields
        assert [name for name, field in fields.items() if isinstance(field, forms.JSONField)] == []


@pytest.mark.parametrize("model", OURS, ids=lambda model: model._meta.label)
def test_a_list_asks_no_more_of_the_database_when_it_grows(model, owner_client, full_studio, owner_user):
    """The same number of queries for one row and for several."""
    address = reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_changelist")
    owner_client.get(address)

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert owner_client.get(address).status_code == 200
        return len(captured)

    before = queries()
    for _again in range(3):
        other = factories.studio_with_hours() if model in {Studio, OpeningHours, Closure} else full_studio
        a_session_with_everything(other, owner_user)
    assert queries() == before


@pytest.mark.parametrize("model", OURS, ids=lambda model: model._meta.label)
def test_searching_looks_only_at_columns_that_exist(model):
    """A misspelt search field fails only when somebody searches."""
    for path in admin.site._registry[model].search_fields:
        table = model
        for step in path.split("__"):
            try:
                field = table._meta.get_field(step)
            except FieldDoesNotExist:
                pytest.fail(f"{model._meta.label}: {path}")
            table = field.related_model or table


def test_only_owners_come_in(client, fitter_user, full_studio):
    """Strangers go to the log-in, fitters are refused, an owner needs no further tick."""
    index = reverse("admin:index")
    assert client.get(index, follow=True).redirect_chain[-1][0] == f"{reverse('login')}?next={index}"
    client.force_login(fitter_user)
    assert client.get(index, follow=True).status_code == 403
    client.force_login(factories.UserFactory(role="owner"))
    assert client.get(index).status_code == 200
    assert client.get(reverse("admin:fit_sessions_studio_change", args=[full_studio.pk])).status_code == 200


def test_an_owner_who_has_left_comes_in_no_more(client):
    """An account that was switched off opens nothing."""
    gone = factories.UserFactory(role="owner", is_active=False)
    assert not gone.has_perm("intake.view_client")
    assert not gone.has_module_perms("intake")


def test_the_first_page_is_grouped_and_names_every_table(owner_client):
    """Grouped as an owner thinks; nothing is lost from Django's own list."""
    groups = owner_client.get(reverse("admin:index")).context["app_list"]
    assert str(groups[0]["name"]) == "The studio"
    shown = [table["model"] for group in groups for table in group["models"]]
    assert sorted(shown, key=str) == sorted(REGISTERED, key=str)


def test_essential_adjustments_are_ticked(owner_client, studio):
    """The list that triage reads is written by boxes, and only known adjustments pass."""
    service = studio.services.get()
    address = reverse("admin:fit_sessions_service_change", args=[service.pk])
    page = owner_client.get(address)
    assert page.context["adminform"].form["essential"].field.widget.input_type == "checkbox"
    data = {**page.context["adminform"].form.initial, "essential": ["saddle_tilt", "bar_reach"], "price": "150"}
    assert owner_client.post(address, data).status_code == 302
    service.refresh_from_db()
    assert service.essential == ["saddle_tilt", "bar_reach"]
    refused = owner_client.post(address, data | {"essential": ["wings"]})
    assert "essential" in refused.context["adminform"].form.errors


def test_minutes_off_the_five_minute_grid_are_refused_in_words(owner_client, studio):
    """The database's rule is told beside the form."""
    service = studio.services.get()
    address = reverse("admin:fit_sessions_service_change", args=[service.pk])
    data = owner_client.get(address).context["adminform"].form.initial | {"slack_min": 12}
    answer = owner_client.post(address, data)
    assert answer.status_code == 200
    assert "steps of five minutes" in answer.content.decode()
    assert Service.objects.get().slack_min == 15


def test_opening_hours_are_set_on_the_studios_page(owner_client, studio):
    """One page holds the week; a time zone is chosen from the world's list."""
    address = reverse("admin:fit_sessions_studio_change", args=[studio.pk])
    page = owner_client.get(address)
    data = {name: value or "" for name, value in page.context["adminform"].form.initial.items()}
    for formset in page.context["inline_admin_formsets"]:
        for inline in [formset.formset.management_form, *formset.formset.initial_forms]:
            data |= {inline.add_prefix(name): _plain(inline, name) for name in inline.fields}
    hours = next(f.formset for f in page.context["inline_admin_formsets"] if f.formset.model is OpeningHours)
    count = len(hours.initial_forms)
    data[f"{hours.prefix}-TOTAL_FORMS"] = count + 1
    data |= {f"{hours.prefix}-{count}-{k}": v for k, v in {"weekday": 5, "opens": "09:00", "closes": "13:00"}.items()}
    data["time_zone"] = "Asia/Kathmandu"
    assert owner_client.post(address, data).status_code == 302
    studio.refresh_from_db()
    assert studio.time_zone == "Asia/Kathmandu"
    assert studio.opening_hours.get(weekday=5).closes == time(13)


def _plain(form, name):
    value = form[name].initial
    return "" if value is None or value is False else getattr(value, "pk", value)


def test_a_forged_form_cannot_move_a_session(owner_client, full_studio):
    """Times belong to the diary: the occupied rows would no longer agree."""
    fit_session = FitSession.objects.get()
    forged = {"starts_at_0": "2027-01-01", "starts_at_1": "09:00", "state": "done", "wish": "A calm descent", **EMPTY}
    owner_client.post(reverse("admin:fit_sessions_fitsession_change", args=[fit_session.pk]), forged)
    after = FitSession.objects.get()
    assert (after.starts_at, after.state) == (fit_session.starts_at, "booked")


EMPTY = {f"{prefix}-{name}": 0 for prefix in ("history", "slot_decisions") for name in ("TOTAL_FORMS", "INITIAL_FORMS")}


@pytest.mark.parametrize("model", [m for m in OURS if isinstance(admin.site._registry[m], KeptAdmin)])
def test_what_is_kept_cannot_be_added_or_changed(model, owner_client, full_studio):
    """Neither form exists, and a forged one is refused."""
    name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
    row = model._default_manager.first()
    assert owner_client.post(reverse(f"{name}_add"), {}).status_code == 403
    assert owner_client.post(reverse(f"{name}_change", args=[row.pk]), {}).status_code == 403


def test_deleting_a_client_takes_all_that_is_theirs(owner_client, full_studio):
    """A rider may ask for it; nothing that is kept may stand in the way."""
    client = FitSession.objects.get().client
    address = reverse("admin:intake_client_delete", args=[client.pk])
    assert owner_client.post(address, {"post": "yes"}).status_code == 302
    assert not Client.objects.filter(pk=client.pk).exists()
    assert (FitSession.objects.count(), Reading.objects.count(), OutgoingMail.objects.count()) == (0, 0, 0)


def test_links_are_closed_and_mails_tried_again_from_the_list(owner_client, full_studio):
    """The actions do what they say, and only to what they say."""
    link, mail = RiderLink.objects.get(), OutgoingMail.objects.get()
    OutgoingMail.objects.update(state="failed", attempts=8, send_after=timezone.now() + timedelta(days=1))
    chosen = {"action": "close_links", "_selected_action": [link.pk]}
    owner_client.post(reverse("admin:intake_riderlink_changelist"), chosen)
    link.refresh_from_db()
    assert not link.is_open
    chosen = {"action": "try_again", "_selected_action": [mail.pk]}
    owner_client.post(reverse("admin:intake_outgoingmail_changelist"), chosen)
    mail.refresh_from_db()
    assert (mail.state, mail.attempts, mail.send_after) == ("queued", 0, None)
    chosen["action"] = "drop"
    owner_client.post(reverse("admin:intake_outgoingmail_changelist"), chosen)
    mail.refresh_from_db()
    assert mail.state == "dropped"


def test_a_clients_name_is_found_without_accents(owner_client):
    """The back room searches as the desk does."""
    factories.ClientFactory(name="Zofia Łącka")
    factories.ClientFactory(name="Ελένη Καραμήτρου")
    for typed, expected in [("lacka", "Zofia Łącka"), ("ΕΛΕΝΗ", "Ελένη Καραμήτρου")]:
        page = owner_client.get(reverse("admin:intake_client_changelist"), {"q": typed})
        assert [client.name for client in page.context["cl"].result_list] == [expected]


def test_a_day_in_the_first_column_is_no_error(owner_client, full_studio):
    """The hierarchy of dates opens at any of its levels."""
    day = date(2026, 11, 25)
    query = {"created_at__year": day.year, "created_at__month": day.month, "created_at__day": day.day}
    assert owner_client.get(reverse("admin:intake_outgoingmail_changelist"), query).status_code == 200
    assert DBTaskResult.objects.count() == 1


def test_times_are_the_studios_own(owner_client, full_studio):
    """A session at ten in UTC starts in the afternoon of a studio in Kathmandu."""
    Studio.objects.update(time_zone="Asia/Kathmandu")
    fit_session = FitSession.objects.get()
    html = owner_client.get(reverse("admin:fit_sessions_fitsession_change", args=[fit_session.pk])).content.decode()
    assert "3:45 p.m." in html
    assert "10 a.m." not in html


@pytest.mark.parametrize(
    ("model_name", "field", "term", "shown"),
    [("intake.bike", "client", "lacka", "Zofia Łącka"), ("fit_sessions.fitter", "user", "tomas", "tomasz")],
)
def test_long_lists_are_picked_by_searching(model_name, field, term, shown, owner_client):
    """The picker answers with what is found."""
    factories.ClientFactory(name="Zofia Łącka")
    factories.UserFactory(username="tomasz")
    app_label, _dot, name = model_name.partition(".")
    query = {"app_label": app_label, "model_name": name, "field_name": field, "term": term}
    found = owner_client.get(reverse("admin:autocomplete"), query).json()["results"]
    assert [row["text"] for row in found] == [shown]
