"""Staff accounts: an owner makes and switches them off in the records; the role alone says who may do what."""

import pytest
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError
from django.urls import reverse

from fitstudio.accounts.models import User
from sessions.models import StateChange
from tests import factories

pytestmark = pytest.mark.django_db

PASSWORD = "quiet chain, straight wheel"


@pytest.fixture
def owner(client):
    """An owner by role alone, logged in."""
    user = factories.UserFactory(role="owner")
    client.force_login(user)
    return user


def add(client, **changes):
    """What the owner types about a new colleague."""
    given = {"username": "noor", "first_name": "Noor", "email": "noor@wrenfield.example", "role": "desk"}
    return client.post(
        reverse("admin:accounts_user_add"), given | {"password1": PASSWORD, "password2": PASSWORD} | changes
    )


def change(client, user, **changes):
    """Send a colleague's page with something changed."""
    address = reverse("admin:accounts_user_change", args=[user.pk])
    form = client.get(address).context["adminform"].form
    given = {name: "" if (value := form[name].initial) is None else value for name in form.fields if name != "password"}
    given = {name: "on" if value is True else value for name, value in given.items() if value is not False}
    given |= changes
    return client.post(address, {name: value for name, value in given.items() if value is not None})


def test_a_new_colleague_can_log_in_and_reaches_the_desk_alone(client, owner):
    """One page is enough: name, address, role, password."""
    assert add(client).status_code == 302
    client.logout()
    assert client.login(username="noor", password=PASSWORD)
    assert client.get(reverse("desk:home")).status_code == 200
    assert client.get(reverse("admin:index"), follow=True).status_code == 403


def test_a_colleague_becomes_an_owner_by_role_alone(client, owner):
    """No further tick is needed to reach the records, and none is shown that would say so."""
    colleague = factories.UserFactory(role="desk")
    fields = client.get(reverse("admin:accounts_user_change", args=[colleague.pk])).context["adminform"].form.fields
    assert not {"is_staff", "is_superuser", "groups", "user_permissions"} & set(fields)
    assert change(client, colleague, role="owner").status_code == 302
    client.force_login(User.objects.get(pk=colleague.pk))
    assert client.get(reverse("admin:intake_client_changelist")).status_code == 200


def test_a_colleague_who_leaves_is_logged_out(client, owner):
    """Switching an account off closes what is open in its browsers."""
    colleague = factories.UserFactory(role="owner")
    other = client.__class__()
    other.force_login(colleague)
    assert other.get(reverse("desk:home")).status_code == 200
    assert change(client, colleague, is_active=None).status_code == 302
    assert not User.objects.get(pk=colleague.pk).is_active
    assert other.get(reverse("desk:home")).status_code == 302


def test_an_owner_cannot_shut_themselves_out(client, owner):
    """So there is always somebody who can open the records."""
    assert change(client, owner, role="desk", is_active=None).status_code == 302
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == ("owner", True)
    assert client.post(reverse("admin:accounts_user_delete", args=[owner.pk]), {"post": "yes"}).status_code == 403
    chosen = {"action": "delete_selected", "_selected_action": [owner.pk], "post": "yes"}
    client.post(reverse("admin:accounts_user_changelist"), chosen)
    assert User.objects.filter(pk=owner.pk).exists()


def test_who_set_up_the_product_is_an_owner():
    """The command that makes the first account gives it the role that it has."""
    first = User.objects.create_superuser("marit", "marit@wrenfield.example", PASSWORD)
    assert (first.role, first.is_owner) == ("owner", True)
    with pytest.raises(IntegrityError), transaction.atomic():
        User.objects.filter(pk=first.pk).update(role="desk")


def test_whoever_has_done_something_stays_named(client, owner, fit_session):
    """An empty name in the history means the rider: it must not come about by deleting an account."""
    colleague = factories.UserFactory(role="desk")
    StateChange.objects.create(fit_session=fit_session, to_state="booked", changed_by=colleague)
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="crash", option="no", answered_by=colleague)
    with pytest.raises(ProtectedError):
        colleague.delete()
    answer = client.post(reverse("admin:accounts_user_delete", args=[colleague.pk]), {"post": "yes"})
    assert answer.status_code == 200
    assert StateChange.objects.get().changed_by == colleague


def test_an_account_that_never_did_anything_can_go(client, owner):
    """A typing mistake need not stay for ever."""
    mistake = factories.UserFactory(role="desk")
    assert client.post(reverse("admin:accounts_user_delete", args=[mistake.pk]), {"post": "yes"}).status_code == 302
    assert not User.objects.filter(pk=mistake.pk).exists()


def test_the_owners_door_leads_on_who_has_passed_it(client, owner):
    """An owner who comes by the records' own log-in is not asked to be somebody else."""
    answer = client.get(reverse("admin:login"), {"next": "https://evil.tarnfell.example/"})
    assert (answer.status_code, answer["Location"]) == (302, reverse("admin:index"))
