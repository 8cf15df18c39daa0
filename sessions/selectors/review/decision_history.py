"""All that was decided and done about one session, newest first, with who and when."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from intake.models import FindingDecision, RedFlagNote
from sessions.models import SlotChoice, SlotDecision, StateChange
from sessions.selectors.review.rulings import ruling_words
from sessions.selectors.review.words import staff_words


@dataclass(frozen=True)
class Entry:
    """One line of the history."""

    at: datetime
    who: str
    what: str
    note: str = ""


def history_of(
    changes: Iterable[StateChange],
    slot_decisions: Iterable[SlotDecision],
    rulings: Iterable[FindingDecision],
    notes: Iterable[RedFlagNote],
    titles: Mapping[str, str],
) -> tuple[Entry, ...]:
    """Return the history; ``titles`` are those of findings and checks by key."""
    entries = [
        *(_changed(change) for change in changes),
        *(_decided(decision) for decision in slot_decisions),
        *(_ruled(ruling, titles) for ruling in rulings),
        *(Entry(note.noted_at, staff_words(note.noted_by), _("Red flag acknowledged"), note.note) for note in notes),
    ]
    return tuple(sorted(entries, key=lambda entry: entry.at, reverse=True))


def _changed(change: StateChange) -> Entry:
    who = staff_words(change.changed_by, nobody=_("the rider"))
    return Entry(
        change.changed_at, who, _("Session: %(state)s") % {"state": change.get_to_state_display()}, change.note
    )


def _decided(decision: SlotDecision) -> Entry:
    what = _("Slot: %(choice)s") % {"choice": decision.get_choice_display()}
    note = decision.note
    if decision.choice == SlotChoice.EXTEND:
        note = ngettext("%(count)d minute more", "%(count)d minutes more", decision.extra_min) % {
            "count": decision.extra_min
        }
    if decision.mail_id:
        what = _("%(what)s, with a mail to the rider") % {"what": what}
    return Entry(decision.decided_at, staff_words(decision.decided_by), what, note)


def _ruled(ruling: FindingDecision, titles: Mapping[str, str]) -> Entry:
    title = titles.get(ruling.finding_key, ruling.finding_key)
    what = _("%(finding)s: %(decision)s") % {
        "finding": title.rstrip(". "),
        "decision": ruling_words(ruling.finding_key, ruling.ruling) if ruling.ruling else _("decision taken back"),
    }
    return Entry(ruling.decided_at, staff_words(ruling.decided_by), what, ruling.note)
