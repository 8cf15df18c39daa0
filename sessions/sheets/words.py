"""Every fixed word on the drawings and sheets, in English; a page in another language passes its own."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

DIMENSION_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "saddle_height": "Saddle height",
        "setback_nose": "Saddle setback to the nose",
        "saddle_to_hood_reach": "Saddle-to-hood reach",
        "nose_to_hood": "Nose-to-hood distance",
        "drop": "Saddle-to-hood drop",
        "hood_height_left": "Hood height above the floor, left",
        "hood_height_right": "Hood height above the floor, right",
        "pad_reach": "Pad reach",
        "pad_drop": "Saddle-to-pad drop",
        "saddle_tilt": "Saddle tilt",
        "saddle_tilt_whole": "Saddle tilt, tail to nose",
        "crank_length": "Crank length",
    }
)


DETAIL_NAMES: Mapping[str, str] = MappingProxyType({"saddle": "saddle", "hands": "hands", "pads": "pads"})


@dataclass(frozen=True, slots=True)
class DrawingWords:
    """Words on the bike's drawings."""

    side_title: str = "Side view of the bike"
    front_title: str = "Handlebar seen from behind"
    before: str = "before"
    after: str = "after"
    schematic: str = "outline: schematic"
    forward: str = "forward"
    scale: str = "Scale"
    left: str = "Left"
    right: str = "Right"
    left_letter: str = "L"
    right_letter: str = "R"
    higher: str = "{side} hood higher by {length} {unit}"
    level: str = "Both hoods at the same height"
    nothing_measured: str = "No position has been measured yet."
    squares: str = "squares of {length}"
    dimensions: Mapping[str, str] = field(default_factory=lambda: DIMENSION_NAMES)
    details: Mapping[str, str] = field(default_factory=lambda: DETAIL_NAMES)


ENGLISH_DRAWING = DrawingWords()


@dataclass(frozen=True, slots=True)
class ForecastWords:
    """Words on the forecast of bench minutes; `{…}` are filled in."""

    title: str = "Forecast of bench minutes"
    axis: str = "bench minutes"
    slack: str = "slack {minutes} min"
    description: str = "Chance that bench work fits into the slack of {minutes} minutes: {chance}."


ENGLISH_FORECAST = ForecastWords()


STANDING_CAUTIONS = (
    (
        "A cracked, crashed or doubtful frame, fork, bar, post or rail is not ridden until a qualified mechanic has"
        " inspected it."
    ),
    "Tighten bolts to the figure printed on the part or in its maker's instructions, with a torque tool.",
    (
        "Carbon parts are not heated, forced or clamped where the maker forbids it; a post stays inside its"
        " minimum-insertion mark."
    ),
    (
        "Pain that is severe, new or spreading, or that comes with numbness or weakness, belongs with a doctor or"
        " physiotherapist."
    ),
    "Starting values are estimates and suspects are possibilities. Local rules and licensed practice come first.",
)


@dataclass(frozen=True, slots=True)
class Words:
    """Words on the fit sheet; `{…}` are filled in."""

    title: str = "Fit sheet"
    rider: str = "Rider"
    bike: str = "Bike"
    service: str = "Service"
    fitter: str = "Fitter"
    date: str = "Date"
    scale: str = "Scale"
    sheet: str = "Sheet"
    page_of: str = "{page} of {pages}"
    position: str = "Position"
    continued: str = "{section}, continued"
    dimension: str = "Dimension"
    before: str = "Before"
    after: str = "After"
    change: str = "Change"
    uncertainty: str = "± 95 %"
    verdict: str = "Change is"
    real: str = "real"
    within_error: str = "within error"
    left_and_right: str = "Left and right"
    left: str = "Left"
    right: str = "Right"
    difference: str = "Left − right"
    component_changes: str = "Component changes"
    parts: str = "Parts to order"
    discomfort: str = "Discomfort, 0 to 10"
    notes: str = "Notes"
    next_visit: str = "Next visit"
    safety: str = "Checked before leaving"
    cautions: str = "Cautions"
    millimetres: str = "millimetres"
    inches: str = "inches"
    units_note: str = "Lengths in {unit}. Letters lead from the drawing to the table."
    real_note: str = (
        "± is the measuring uncertainty of the change at 95 %. A change is called real where it is larger than that."
    )
    print_note: str = "Print at 100 %: the ruled edge is then a true tape and the drawing true to its scale."
    drawing: DrawingWords = ENGLISH_DRAWING


ENGLISH = Words()


@dataclass(frozen=True, slots=True)
class PaperFormWords:
    """Words on the paper form of the pre-visit check; `{…}` are filled in."""

    title: str = "Pre-visit check"
    rider: str = "Rider"
    bike: str = "Bike"
    session: str = "Session"
    sheet: str = "Sheet"
    page_of: str = "{page} of {pages}"
    why: str = "Why"
    tools: str = "Tools"
    minutes: str = "{minutes} min"
    could_not: str = "could not do it"
    discomfort: str = "What hurts"
    discomfort_help: str = "Tick the side and write 0 (nothing) to 10 (the worst you can imagine)."
    left: str = "left"
    right: str = "right"
    middle: str = "middle"
    score: str = "0–10"
    remarks: str = "Anything else we should know"
    cautions: str = "Cautions"
    print_note: str = "Print at 100 %: the ruled edge is then a true tape to measure with."


ENGLISH_FORM = PaperFormWords()


WORKSHOP_CAUTIONS = (*STANDING_CAUTIONS[:3], "Local rules and the word of a licensed mechanic come first.")


@dataclass(frozen=True, slots=True)
class JobSheetWords:
    """Words on the job sheet for a workshop; `{…}` are filled in."""

    title: str = "Job sheet"
    for_workshop: str = "for {workshop}"
    deadline: str = "Start by {start}. The bike is measured on {session}."
    intro: str = (
        "{studio} will set the rider's position on this bike, and on the day the parts below must be in order and free to move."
        " Please put them right, or say what stands in the way."
    )
    ask_studio: str = "Questions to the studio: {contact}"
    ask_rider: str = "The rider: {contact}"
    rider_private: str = "The rider's contact is not shared; the studio passes messages on."
    note: str = "Note"
    scan: str = "Scan the code, or type the address, to answer on the telephone. No log-in is needed."
    wrong: str = "What is wrong"
    needs: str = "Session needs"
    work: str = "Usual way"
    part: str = "Part"
    start_by: str = "Start by"
    not_to_ride: str = "Not to be ridden until a qualified mechanic has inspected it."
    no_title: str = "Without a title"
    done: str = "done"
    needs_part: str = "needs a part"
    cannot: str = "cannot be done"
    answer_for_note: str = "Note"
    answer_by: str = "Name and date"
    answer_note: str = "Answered on paper? Send a photo of this sheet to the studio, or give it to the rider."
    cautions: str = "Cautions"
    workshop: str = "Workshop"
    number: str = "Job"
    session: str = "Session"
    bike: str = "Bike"
    rider: str = "Rider"
    sheet: str = "Sheet"
    page_of: str = "{page} of {pages}"


ENGLISH_JOB = JobSheetWords()
