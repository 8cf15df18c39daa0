"""What the desk says when it moves or cancels a session, or sets its state."""

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from sessions.diary.states import SessionState, can_move
from sessions.forms.fields import StartField
from sessions.forms.starts import StartMixin
from sessions.models import FitSession

AT_THE_DESK = {SessionState.CONFIRMED: _("The rider has confirmed"), SessionState.NO_SHOW: _("The rider did not come")}


class StateForm(forms.Form):
    """The state that a member of staff sets with one tap."""

    to = forms.ChoiceField(choices=[(state.value, label) for state, label in AT_THE_DESK.items()])


def desk_states(fit_session: FitSession) -> list[tuple[str, str]]:
    """Return the states that the desk can set now, each with what it says; nobody is missed before the hour has come."""
    before, has_come = SessionState(fit_session.state), fit_session.starts_at <= timezone.now()
    possible = [state for state in AT_THE_DESK if can_move(before, state)]
    return [(state.value, AT_THE_DESK[state]) for state in possible if has_come or state is not SessionState.NO_SHOW]


class TellForm(forms.Form):
    """A reason for the studio's own history, and words for the rider's mail."""

    note = forms.CharField(
        label=_("Reason, for the studio only"),
        required=False,
        max_length=300,
        widget=forms.TextInput(attrs={"class": "wide", "autocomplete": "off"}),
    )
    message = forms.CharField(
        label=_("Words for the rider"),
        required=False,
        max_length=2000,
        help_text=_(
            "They stand at the top of the mail; the times, the address and the calendar file are added by themselves."
        ),
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class MoveForm(StartMixin, TellForm):
    """The new start, and what to say about it."""

    start = StartField(label=_("Choose another time"))
