"""What verdicts, moments and people are called in the figures, in the reader's language."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.models import SnapshotMoment
from intake.triage.verdict import Verdict
from sessions.figures.tables import NOT_KEPT
from sessions.figures.values import PutRightBy
from sessions.sheets.figure_words import MovesWords, PairsWords

VERDICTS = {
    Verdict.DO_NOT_RIDE.value: gettext_lazy("Do not ride"),
    Verdict.FIX_FIRST.value: gettext_lazy("Fix first"),
    Verdict.ASK_RIDER.value: gettext_lazy("Ask the rider"),
    Verdict.BRING_PARTS.value: gettext_lazy("Bring parts"),
    Verdict.CLEAR.value: gettext_lazy("Clear"),
    NOT_KEPT: gettext_lazy("Not kept"),
}
PUT_RIGHT = {
    PutRightBy.RIDER: gettext_lazy("The rider, before the session"),
    PutRightBy.WORKSHOP: gettext_lazy("A workshop, before the session"),
    PutRightBy.PART: gettext_lazy("The rider, with a part that came along"),
    PutRightBy.STUDIO: gettext_lazy("The studio, at the bench"),
    PutRightBy.UNSAID: gettext_lazy("Before the session, by whom was not said"),
}


def moves_words() -> MovesWords:
    """Return the words on the drawing of how verdicts moved."""
    return MovesWords(
        title=_("How verdicts moved"),
        description=_("Sessions by verdict, from booking to the day: {story}."),
        verdicts={key: str(word) for key, word in VERDICTS.items()},
        moments={moment.value: str(moment.label).capitalize() for moment in SnapshotMoment},
    )


def pairs_words() -> PairsWords:
    """Return the words on the drawing of forecasts beside actual minutes."""
    return PairsWords(
        title=_("Forecast and actual bench minutes"),
        description=_(
            "{total} sessions, the smallest forecast on the left; the actual minutes of {within} lie within their 90 % band."
        ),
        axis=_("bench minutes"),
        band=_("90 % band, mean"),
        inside=_("actual, within"),
        outside=_("actual, outside"),
    )
