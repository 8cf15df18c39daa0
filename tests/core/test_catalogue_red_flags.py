"""The signs that belong with a clinician are asked for explicitly, and answered with advice, never with a diagnosis."""

import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Group, Hazard

CATALOGUE = load_catalogue()
EMERGENCY = CATALOGUE.check("red_flags_emergency")
CLINICIAN = CATALOGUE.check("red_flags_clinician")

# Signs as listed for suspected compression of the nerves of the saddle area (BMJ Best Practice, citing the GIRFT pathway),
# summaries of NICE CKS sciatica, a neurosurgical list of reasons to refer back pain; from memory: chest pain (NICE CG95), head
# injury (NICE NG232), fracture (Ottawa rules), swelling and a wasting hand (general practice).
SIGNS = [
    (EMERGENCY, "chest", ("chest", "faint", "breath")),
    (EMERGENCY, "nerve", ("numb", "bladder", "bowel", "sex", "starting", "loss of feeling", "both legs", "that grows")),
    (EMERGENCY, "head", ("knock to the head", "knocked out", "memory", "being sick", "blood thinners")),
    (CLINICIAN, "pain", ("severe", "new", "spreads")),
    (CLINICIAN, "numb_weak", ("numbness", "weakness", "stays after the ride", "hand that grows thinner")),
    (CLINICIAN, "back", ("under 20 or over 55", "between the shoulder blades", "hard fall", "cancer", "steroid")),
    (CLINICIAN, "fall", ("fell", "four steps", "bone hurts", "out of shape")),
    (CLINICIAN, "swollen", ("hot, swollen joint", "calf")),
    (CLINICIAN, "unwell", ("fever", "weight loss", "at night")),
]
DIAGNOSES = ("syndrome", "cauda", "thrombosis", "fracture", "concussion", "heart attack", "angina", "herni", "sciatica")


@pytest.mark.parametrize(("check", "fault", "signs"), SIGNS, ids=lambda each: each if isinstance(each, str) else None)
def test_each_sign_is_asked_in_so_many_words(check, fault, signs):
    """People do not volunteer these signs, so the page names each of them."""
    words = " ".join(check.steps).lower()
    assert [sign for sign in signs if sign not in words] == []
    wanted = Hazard.EMERGENCY if check is EMERGENCY else Hazard.SEE_CLINICIAN
    assert check.fault(fault).hazard is wanted


@pytest.mark.parametrize("check", [EMERGENCY, CLINICIAN], ids=["emergency", "clinician"])
def test_every_answer_but_none_leads_to_advice(check):
    """Several signs at once, and doubt, are no way past the question."""
    harmless = {option.key for option in check.options if not option.faults}
    assert harmless == ({"none", "only_riding"} if check is EMERGENCY else {"none"})
    assert all(sum(option.faults.values()) == 1 for option in check.options if option.faults)


def test_numbness_that_clears_after_the_ride_is_no_red_flag():
    """Numbness only while riding, gone within minutes or hours, is common; the page says so and offers the answer."""
    (option,) = [option for option in EMERGENCY.options if option.key == "only_riding"]
    assert not option.faults
    assert any("clears within minutes or hours" in step for step in EMERGENCY.steps)


@pytest.mark.parametrize("check", [EMERGENCY, CLINICIAN, CATALOGUE.check("injuries")], ids=lambda check: check.key)
def test_advice_never_names_an_illness(check):
    """The product sends people to clinicians and does not play one."""
    words = " ".join(
        [*check.steps, *(text for fault in check.faults for text in (fault.title, fault.rider_text))]
    ).lower()
    assert [name for name in DIAGNOSES if name in words] == []


@pytest.mark.parametrize("fault", EMERGENCY.faults, ids=lambda fault: fault.key)
def test_emergency_advice_says_today_and_no_riding(fault):
    """The rider reads what to do, when, and that the bike stays where it is."""
    assert "today" in fault.rider_text or "now" in fault.rider_text
    assert "not ride" in fault.rider_text


@pytest.mark.parametrize("check", [EMERGENCY, CLINICIAN], ids=["emergency", "clinician"])
def test_red_flags_come_first_and_are_asked_of_everybody(check):
    """No bike and no earlier answer keeps the question away."""
    assert check.group is Group.RIDER
    assert not check.conditions
    assert not check.kinds
    assert [each.key for each in CATALOGUE.checks[:2]] == ["red_flags_emergency", "red_flags_clinician"]
