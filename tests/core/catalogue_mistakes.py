"""A small sound catalogue, and every mistake that can be made in one."""

import math

from intake.catalogue import errors

SOUND = {
    "version": "1",
    "areas": [{"key": "knee", "label": "Knee", "sided": True}, {"key": "neck", "label": "Neck"}],
    "links": [
        {"finding": "first.loose", "areas": ["knee"], "sides": "same", "evidence": "study", "source": "One study."},
    ],
    "remedies": [
        {"key": "wash", "who": "rider", "title": "Wash", "detail": "Wash it.", "lead_days": 1},
        {"key": "mend", "who": "workshop", "title": "Mend", "detail": "Mend it.", "lead_days": 4, "part": "Bolts"},
    ],
    "checks": [
        {
            "key": "first",
            "group": "seat",
            "title": "First",
            "question": "Is it so?",
            "why": "It matters.",
            "steps": ["Look."],
            "tools": [],
            "home_min": 2,
            "options": [
                {"key": "fine", "label": "Fine"},
                {"key": "doubtful", "label": "Doubtful", "side": "left", "faults": {"loose": 0.5, "broken": 0.25}},
            ],
            "faults": [
                {
                    "key": "loose",
                    "title": "Loose",
                    "rider_text": "It is loose.",
                    "rate": 0.1,
                    "effects": {"saddle_height": "locked"},
                    "minutes": {"median_min": 5, "p90_min": 10},
                    "remedies": ["wash", "mend"],
                },
                {
                    "key": "broken",
                    "title": "Broken",
                    "rider_text": "It is broken.",
                    "rate": 0.05,
                    "hazard": "do_not_ride",
                    "unreliable": True,
                    "remedies": ["mend"],
                },
            ],
            "numbers": [
                {"key": "left_mm", "label": "Left", "minimum_mm": 0, "maximum_mm": 50, "refusal": "Too far."},
                {"key": "right_mm", "label": "Right", "minimum_mm": 0, "maximum_mm": 50, "refusal": "Too far."},
            ],
            "rules": [{"fault": "loose", "field": "left_mm", "minus": "right_mm", "at_least_mm": 4}],
        },
        {
            "key": "second",
            "group": "feet",
            "title": "Second",
            "question": "And this?",
            "why": "It matters too.",
            "steps": ["Look again."],
            "tools": ["A torch"],
            "home_min": 1,
            "options": [{"key": "yes", "label": "Yes"}],
            "kinds": ["road"],
            "conditions": [
                {"subject": "bike.post_kind", "among": ["mast"], "unless": True},
                {"subject": "answer.first", "among": ["fine", "could_not"]},
            ],
        },
        {
            "key": "rusty",
            "group": "front",
            "title": "Rusty",
            "question": "Any rust?",
            "why": "It matters as well.",
            "steps": ["Look."],
            "tools": [],
            "home_min": 1,
            "options": [{"key": "fine", "label": "Fine"}, {"key": "rust", "label": "Rust", "faults": {"rust": 1}}],
            "faults": [
                {
                    "key": "rust",
                    "title": "Rust",
                    "rider_text": "It is rusty.",
                    "rate": 0.1,
                    "minutes": {"median_min": 4, "p90_min": 9},
                    "remedies": ["mend"],
                    "exposed": {"salt": 3},
                },
            ],
        },
    ],
    "exposures": [{"key": "salt", "title": "Salt", "why": "It creeps.", "check": "second", "given": {"yes": 0.2}}],
    "moots": [{"fault": "first.loose", "spared": ["rusty.rust"], "why": "It is one job."}],
}


def first(document):
    return document["checks"][0]


def second(document):
    return document["checks"][1]


def fault(document, place=0):
    return first(document)["faults"][place]


def rust(document):
    return document["checks"][2]["faults"][0]


def salt(document):
    return document["exposures"][0]


def link(document):
    return document["links"][0]


# Each row: what is done to a sound catalogue, the error it must yield, the key that the error must name.
BROKEN = {
    "missing version": (lambda d: d.pop("version"), errors.MissingFieldError, "version"),
    "missing checks": (lambda d: d.pop("checks"), errors.MissingFieldError, "checks"),
    "missing key": (lambda d: second(d).pop("key"), errors.MissingFieldError, "checks[2].key"),
    "missing title": (lambda d: first(d).pop("title"), errors.MissingFieldError, "first.title"),
    "missing rate": (lambda d: fault(d).pop("rate"), errors.MissingFieldError, "first.loose.rate"),
    "missing steps": (lambda d: first(d).pop("steps"), errors.MissingFieldError, "first.steps"),
    "missing limit": (
        lambda d: first(d)["numbers"][0].pop("maximum_mm"),
        errors.MissingFieldError,
        "first.left_mm.maximum_mm",
    ),
    "missing lead": (lambda d: d["remedies"][0].pop("lead_days"), errors.MissingFieldError, "wash.lead_days"),
    "missing median": (
        lambda d: fault(d)["minutes"].pop("median_min"),
        errors.MissingFieldError,
        "first.loose.minutes.median_min",
    ),
    "unknown top field": (lambda d: d.update(chekcs=[]), errors.UnknownFieldError, "chekcs"),
    "unknown check field": (lambda d: first(d).update(wyh="?"), errors.UnknownFieldError, "first.wyh"),
    "unknown fault field": (lambda d: fault(d).update(hazzard="x"), errors.UnknownFieldError, "first.loose.hazzard"),
    "doubled check": (lambda d: second(d).update(key="first"), errors.DuplicateKeyError, "first"),
    "doubled remedy": (lambda d: d["remedies"].append(d["remedies"][0]), errors.DuplicateKeyError, "wash"),
    "doubled area": (lambda d: d["areas"].append(d["areas"][0]), errors.DuplicateKeyError, "knee"),
    "doubled option": (
        lambda d: first(d)["options"].append({"key": "fine", "label": "Again"}),
        errors.DuplicateKeyError,
        "first.fine",
    ),
    "doubled fault": (lambda d: fault(d, 1).update(key="loose"), errors.DuplicateKeyError, "first.loose"),
    "unknown remedy": (lambda d: fault(d).update(remedies=["glue"]), errors.UnknownReferenceError, "first.loose"),
    "unknown area": (lambda d: link(d).update(areas=["tail"]), errors.UnknownReferenceError, "links.first.loose"),
    "unknown finding": (
        lambda d: link(d).update(finding="first.gone"),
        errors.UnknownReferenceError,
        "links.first.gone",
    ),
    "half a finding": (lambda d: link(d).update(finding="first"), errors.UnknownReferenceError, "links.first"),
    "doubled link": (lambda d: d["links"].append(dict(link(d))), errors.DuplicateLinkError, "links.first.loose"),
    "side of no sides": (lambda d: link(d).update(areas=["neck"]), errors.SidelessAreaError, "links.first.loose"),
    "unknown evidence": (lambda d: link(d).update(evidence="proof"), errors.UnknownChoiceError, "links[1].evidence"),
    "unknown link sides": (lambda d: link(d).update(sides="left"), errors.UnknownChoiceError, "links[1].sides"),
    "link without a source": (lambda d: link(d).pop("source"), errors.MissingFieldError, "links[1].source"),
    "unknown link field": (lambda d: link(d).update(strenght=1), errors.UnknownFieldError, "links[1].strenght"),
    "unknown side": (
        lambda d: first(d)["options"][1].update(side="up"),
        errors.UnknownChoiceError,
        "first.doubtful.side",
    ),
    "unknown fault in answer": (
        lambda d: first(d)["options"][1]["faults"].update(gone=0.1),
        errors.UnknownReferenceError,
        "first.doubtful.faults",
    ),
    "unknown fault in rule": (
        lambda d: first(d)["rules"][0].update(fault="gone"),
        errors.UnknownReferenceError,
        "first.rules[1].fault",
    ),
    "unknown length in rule": (
        lambda d: first(d)["rules"][0].update(minus="middle_mm"),
        errors.UnknownReferenceError,
        "first.rules[1].minus",
    ),
    "unknown adjustment": (
        lambda d: fault(d).update(effects={"saddle_colour": "locked"}),
        errors.UnknownAdjustmentError,
        "first.loose.effects.saddle_colour",
    ),
    "unknown effect": (
        lambda d: fault(d).update(effects={"saddle_height": "jammed"}),
        errors.UnknownChoiceError,
        "first.loose.effects.saddle_height",
    ),
    "unknown group": (lambda d: first(d).update(group="roof"), errors.UnknownChoiceError, "first.group"),
    "unknown kind": (lambda d: second(d).update(kinds=["unicycle"]), errors.UnknownChoiceError, "second.kinds"),
    "unknown hazard": (lambda d: fault(d).update(hazard="fatal"), errors.UnknownChoiceError, "first.loose.hazard"),
    "unknown person": (lambda d: d["remedies"][0].update(who="cat"), errors.UnknownChoiceError, "wash.who"),
    "answers too likely": (
        lambda d: first(d)["options"][1]["faults"].update(loose=0.8),
        errors.TooLikelyError,
        "first.doubtful.faults",
    ),
    "rates too likely": (lambda d: fault(d).update(rate=0.96), errors.TooLikelyError, "first.rate"),
    "rate above one": (lambda d: fault(d).update(rate=1.5), errors.OutOfRangeError, "first.loose.rate"),
    "rate below zero": (lambda d: fault(d).update(rate=-0.1), errors.OutOfRangeError, "first.loose.rate"),
    "chance below zero": (
        lambda d: first(d)["options"][1]["faults"].update(loose=-0.1),
        errors.OutOfRangeError,
        "first.doubtful.faults.loose",
    ),
    "chance not a number": (
        lambda d: first(d)["options"][1]["faults"].update(loose=math.nan),
        errors.OutOfRangeError,
        "first.doubtful.faults.loose",
    ),
    "chance is a word": (
        lambda d: first(d)["options"][1]["faults"].update(loose="often"),
        errors.WrongValueError,
        "first.doubtful.faults.loose",
    ),
    "no home minutes": (lambda d: first(d).update(home_min=0), errors.OutOfRangeError, "first.home_min"),
    "no bench minutes": (
        lambda d: fault(d)["minutes"].update(median_min=0),
        errors.OutOfRangeError,
        "first.loose.minutes.median_min",
    ),
    "negative lead": (lambda d: d["remedies"][0].update(lead_days=-1), errors.OutOfRangeError, "wash.lead_days"),
    "p90 below median": (
        lambda d: fault(d)["minutes"].update(p90_min=4),
        errors.LimitsReversedError,
        "first.loose.minutes",
    ),
    "limits reversed": (
        lambda d: first(d)["numbers"][1].update(minimum_mm=60),
        errors.LimitsReversedError,
        "first.right_mm",
    ),
    "rule reversed": (
        lambda d: first(d)["rules"][0].update(at_most_mm=2),
        errors.LimitsReversedError,
        "first.rules[1]",
    ),
    "rule without limit": (
        lambda d: first(d)["rules"][0].pop("at_least_mm"),
        errors.RuleWithoutLimitError,
        "first.rules[1]",
    ),
    "no steps": (lambda d: first(d).update(steps=[]), errors.WrongValueError, "first.steps"),
    "blank step": (lambda d: first(d).update(steps=[" "]), errors.WrongValueError, "first.steps"),
    "blank text": (lambda d: first(d).update(why="  "), errors.WrongValueError, "first.why"),
    "no options": (lambda d: second(d).update(options=[]), errors.WrongValueError, "second.options"),
    "options no list": (lambda d: second(d).update(options="yes"), errors.WrongValueError, "second.options"),
    "effects no table": (lambda d: fault(d).update(effects="all"), errors.WrongValueError, "first.loose.effects"),
    "key not snake case": (lambda d: second(d).update(key="Second one"), errors.WrongValueError, "Second one.key"),
    "flag is a word": (lambda d: fault(d).update(unreliable="yes"), errors.WrongValueError, "first.loose.unreliable"),
    "number is a word": (lambda d: first(d).update(home_min="two"), errors.WrongValueError, "first.home_min"),
    "number is a flag": (lambda d: fault(d).update(rate=True), errors.WrongValueError, "first.loose.rate"),
    "number is infinite": (lambda d: fault(d).update(rate=math.inf), errors.WrongValueError, "first.loose.rate"),
    "lead not whole": (lambda d: d["remedies"][0].update(lead_days=1.5), errors.WrongValueError, "wash.lead_days"),
    "could_not listed": (
        lambda d: second(d)["options"].append({"key": "could_not", "label": "No"}),
        errors.WrongValueError,
        "second.could_not",
    ),
    "unknown bike fact": (
        lambda d: second(d)["conditions"][0].update(subject="bike.colour"),
        errors.UnknownReferenceError,
        "second.conditions[1].subject",
    ),
    "unknown check": (
        lambda d: second(d)["conditions"][1].update(subject="answer.zeroth"),
        errors.UnknownReferenceError,
        "second.conditions[2].subject",
    ),
    "unknown subject": (
        lambda d: second(d)["conditions"][1].update(subject="weather"),
        errors.UnknownReferenceError,
        "second.conditions[2].subject",
    ),
    "unknown fact value": (
        lambda d: second(d)["conditions"][0].update(among=["bamboo"]),
        errors.UnknownReferenceError,
        "second.conditions[1].among",
    ),
    "unknown answer": (
        lambda d: second(d)["conditions"][1].update(among=["maybe"]),
        errors.UnknownReferenceError,
        "second.conditions[2].among",
    ),
    "unknown own fact": (lambda d: second(d).update(fact="colour"), errors.UnknownReferenceError, "second.fact"),
    "fact without its answers": (
        lambda d: second(d).update(fact="indoors"),
        errors.UnknownReferenceError,
        "second.fact",
    ),
    "waits for itself": (
        lambda d: second(d).update(conditions=[{"subject": "answer.second", "among": ["yes"]}]),
        errors.ConditionCycleError,
        "second",
    ),
    "circle": (
        lambda d: first(d).update(conditions=[{"subject": "answer.second", "among": ["yes"]}]),
        errors.ConditionCycleError,
        "first",
    ),
    "no remedy": (lambda d: fault(d).update(remedies=[]), errors.NoRemedyError, "first.loose"),
    "hazard left to the rider": (
        lambda d: fault(d, 1).update(remedies=["wash"]),
        errors.RiderOnlyHazardError,
        "first.broken",
    ),
    "fault out of reach": (
        lambda d: first(d)["options"][1]["faults"].pop("broken"),
        errors.UnreachableFaultError,
        "first.broken",
    ),
    "doubled exposure": (
        lambda d: d["exposures"].append(d["exposures"][0]),
        errors.DuplicateKeyError,
        "exposures.salt",
    ),
    "exposure without a source": (lambda d: salt(d).pop("check"), errors.ExposureSourceError, "salt"),
    "exposure with two sources": (lambda d: salt(d).update(share=0.3), errors.ExposureSourceError, "salt"),
    "exposure by no check": (lambda d: salt(d).update(check="third"), errors.UnknownReferenceError, "salt.check"),
    "exposure with a gap": (
        lambda d: second(d)["options"].append({"key": "no", "label": "No"}),
        errors.MissingFieldError,
        "salt.given.no",
    ),
    "exposure by no answer": (lambda d: salt(d)["given"].update(maybe=0.5), errors.UnknownReferenceError, "salt.given"),
    "exposure above one": (lambda d: salt(d)["given"].update(yes=1.5), errors.OutOfRangeError, "salt.given.yes"),
    "exposure no number": (lambda d: salt(d)["given"].update(yes="often"), errors.WrongValueError, "salt.given.yes"),
    "exposure of its own check": (
        lambda d: salt(d).update(check="rusty", given={"fine": 0.2, "rust": 0.5}),
        errors.ExposureCircleError,
        "salt",
    ),
    "unknown exposure": (
        lambda d: rust(d).update(exposed={"mud": 2}),
        errors.UnknownReferenceError,
        "rusty.rust.exposed",
    ),
    "factor of nothing": (
        lambda d: rust(d)["exposed"].update(salt=0),
        errors.OutOfRangeError,
        "rusty.rust.exposed.salt",
    ),
    "factor is infinite": (
        lambda d: rust(d)["exposed"].update(salt=math.inf),
        errors.WrongValueError,
        "rusty.rust.exposed.salt",
    ),
    "factor too strong": (
        lambda d: (rust(d).update(rate=0.9), salt(d)["given"].update(yes=0.5)),
        errors.TooLikelyError,
        "rusty.rust.exposed",
    ),
    "exposed length": (
        lambda d: fault(d).update(exposed={"salt": 2}),
        errors.ExposedLengthError,
        "first.loose.exposed",
    ),
    "too many exposures": (
        lambda d: d["exposures"].extend({"key": f"e{n}", "title": "E", "why": "E.", "share": 0.1} for n in range(4)),
        errors.TooManyOutcomesError,
        "salt",
    ),
    "share above one": (lambda d: first(d)["options"][0].update(share=1.2), errors.OutOfRangeError, "first.fine.share"),
    "share of a faulty answer": (
        lambda d: first(d)["options"][1].update(share=0.2),
        errors.WrongValueError,
        "first.doubtful.share",
    ),
    "shares too likely": (
        lambda d: second(d).update(options=[{"key": key, "label": "Yes", "share": 0.7} for key in ("yes", "no")]),
        errors.TooLikelyError,
        "second.share",
    ),
    "moot of nothing": (
        lambda d: d["moots"][0].update(fault="first.gone"),
        errors.UnknownReferenceError,
        "moots.first.gone",
    ),
    "moot for nothing": (
        lambda d: d["moots"][0].update(spared=["first.gone"]),
        errors.UnknownReferenceError,
        "moots.first.loose",
    ),
    "moot in one check": (
        lambda d: d["moots"][0].update(spared=["first.broken"]),
        errors.WrongValueError,
        "moots.first.loose",
    ),
    "moot without minutes": (
        lambda d: d["moots"][0].update(fault="first.broken"),
        errors.WrongValueError,
        "moots.first.broken",
    ),
    "moot said twice": (lambda d: d["moots"].append(d["moots"][0]), errors.DuplicateMootError, "moots.first.loose"),
    "moot in a circle": (
        lambda d: d["moots"].append({"fault": "rusty.rust", "spared": ["first.loose"], "why": "Both."}),
        errors.MootCycleError,
        "moots.first.loose",
    ),
    "too much at once": (lambda d: d.update(tangle(d)), errors.TooManyOutcomesError, "first"),
}


def tangle(document):
    """Twelve more checks that all wait for the first one."""
    waiting = [
        second(document) | {"key": f"more{n}", "conditions": [{"subject": "answer.first", "among": ["fine"]}]}
        for n in range(12)
    ]
    return {"checks": [*document["checks"], *waiting]}
