"""The check of one session as the paper form prints it."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from intake.selectors.catalogue import current_catalogue
from intake.selectors.paper import PaperCheck, PaperQuestion, paper_check
from sessions.models import FitSession
from sessions.selectors.letterhead import letterhead
from sessions.sheets import paper_form as sheet


def paper_form_of(fit_session: FitSession) -> sheet.PaperForm:
    """Return the form for a session's rider and bike, on the studio's paper and in the rider's unit."""
    check = paper_check(fit_session.pre_visit, current_catalogue())
    studio, client = fit_session.studio, fit_session.client
    starts_at = fit_session.starts_at.astimezone(studio.zone)
    return sheet.PaperForm(
        studio=letterhead(studio),
        groups=tuple(_group(part.title, part.questions) for part in check.parts),
        rider=f"{client.name} ({client.latin_name})" if client.latin_name else client.name,
        bike=check.bike,
        session=date_format(starts_at, "D j M Y, H:i"),
        intro=_intro(check, client.get_length_unit_display()),
        areas=tuple(sheet.PaperArea(place.label, place.sided) for place in check.places),
        paper=studio.paper,
        unit=client.length_unit,
    )


def _intro(check: PaperCheck, lengths: str) -> str:
    return _(
        "About %(minutes)d minutes with the bike beside you. Tick one answer for each question and write lengths in %(lengths)s. "
        "Send it to the studio early: what turns up can then still be put right before your session."
    ) % {"minutes": check.minutes, "lengths": lengths}


def _group(title: str, questions: tuple[PaperQuestion, ...]) -> sheet.PaperGroup:
    return sheet.PaperGroup(title, tuple(_check(question) for question in questions))


def _check(question: PaperQuestion) -> sheet.PaperCheck:
    return sheet.PaperCheck(
        question=f"{question.only_if} {question.question}".strip(),
        why=question.why,
        steps=question.steps,
        tools=", ".join(question.tools),
        minutes=question.minutes,
        caution=question.caution,
        answers=question.answers[:-1],
        could_not=question.answers[-1],
        blanks=tuple(sheet.PaperBlank(length.label, length.unit) for length in question.lengths),
    )
