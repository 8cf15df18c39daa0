"""What a mail to the rider says before the fitter edits it: made from the triage, in plain words."""

import re

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from intake.edge.money import cost_words
from intake.models import RiderLink
from intake.selectors.links import full_address
from intake.triage.advice import what_to_do
from intake.triage.engine import Triage
from intake.triage.plans import Errand
from intake.triage.verdict import Verdict
from sessions.models import FitSession, SlotChoice
from sessions.selectors.review.asking import asking_order
from sessions.services.review.slot_decisions import Letter

QUESTIONS_ASKED = 5
BLANK_LINES = re.compile(r"\n\s*\n")


def draft_letter(
    choice: SlotChoice,
    fit_session: FitSession,
    triage: Triage,
    link: RiderLink | None,
    *,
    errands: tuple[Errand, ...] = (),
) -> Letter:
    """Return subject and text for keeping the slot or asking the rider; ``errands`` are of the plan that was agreed."""
    subjects = {
        SlotChoice.KEEP: _("Your session at %(studio)s on %(day)s"),
        SlotChoice.ASK_RIDER: _("A question before your session at %(studio)s on %(day)s"),
    }
    with translation.override(settings.LANGUAGE_CODE), timezone.override(fit_session.studio.zone):
        day = date_format(timezone.localtime(fit_session.starts_at), "D j M")
        subject = subjects[choice] % {"studio": fit_session.studio.name, "day": day}
        return Letter(subject, _text(choice, fit_session, triage, link, errands=errands))


def draft_message(
    choice: SlotChoice, fit_session: FitSession, triage: Triage, link: RiderLink | None, *, then: Triage | None = None
) -> str:
    """Return what stands at the top of the mail about a longer or a moved session; nothing where the bike is not to blame.

    ``then`` is the triage for the new start: by it the rider reads what to put right by which day.
    """
    if triage.verdict is Verdict.CLEAR and not triage.stopped:
        return ""
    with translation.override(settings.LANGUAGE_CODE), timezone.override(fit_session.studio.zone):
        return _text(choice, fit_session, triage, link, then)


def _text(
    choice: SlotChoice,
    fit_session: FitSession,
    triage: Triage,
    link: RiderLink | None,
    then: Triage | None = None,
    errands: tuple[Errand, ...] = (),
) -> str:
    questions = asking_order(triage)
    context = {
        "fit_session": fit_session,
        "studio": fit_session.studio,
        "triage": triage,
        "told": what_to_do(then or triage),
        "errands": [(errand, cost_words(errand.way.remedy, triage.slot.terms)) for errand in errands],
        "questions": questions[:QUESTIONS_ASKED],
        "further": len(questions[QUESTIONS_ASKED:]),
        "check_address": full_address(link, "check:start"),
        "advice_address": full_address(link, "check:advice"),
    }
    text = render_to_string(f"sessions/review/letters/{choice.value}.txt", context)
    return BLANK_LINES.sub("\n\n", text).strip() + "\n"
