"""Every form field is written by one template: label, unit, help and error belong together for a screen reader."""

import re

import pytest
from django import forms


class Measures(forms.Form):
    """One field of every kind that the template treats differently."""

    spacers = forms.FloatField(label="Spacers", help_text="With a ruler.", widget=forms.TextInput)
    spacers.unit = "mm"
    slides = forms.ChoiceField(label="Does it slide?", choices=[("y", "yes"), ("n", "no")], widget=forms.RadioSelect)
    agree = forms.BooleanField(label="I have read the cautions")
    notes = forms.CharField(label="Notes", required=False)
    token = forms.CharField(widget=forms.HiddenInput, required=False)

    def clean(self):
        """Refuse as a whole, so that the summary has an error of no field."""
        raise forms.ValidationError("The two do not fit together")


class Bench(forms.Form):
    """A form whose fields are all free to stay empty and do not say so."""

    mark_optional = False
    left = forms.FloatField(label="Left", required=False)
    left.hide_label = True


@pytest.fixture
def refused():
    """Return the form as it comes back with nothing but a number that is none."""
    return Measures({"spacers": "twelve"})


def described_by(html: str, name: str) -> list[str]:
    """Return the ids that describe the input ``name``."""
    tag = re.search(rf'<input[^>]*name="{name}"[^>]*>', html)[0]
    return re.search(r'aria-describedby="([^"]*)"', tag)[1].split()


def test_unit_help_and_error_describe_the_input(refused):
    """What is written around a number is also read out with it, and the typed text comes back."""
    html = str(refused["spacers"].as_field_group())
    assert described_by(html, "spacers") == ["id_spacers_unit", "id_spacers_helptext", "id_spacers_error"]
    for name in described_by(html, "spacers"):
        assert html.count(f'id="{name}"') == 1
    assert 'aria-invalid="true"' in html
    assert 'value="twelve"' in html


def test_a_unit_alone_describes_the_input():
    """The unit is linked where there is neither help nor error."""
    form = Bench()
    form.fields["left"].unit = "mm"
    assert described_by(str(form["left"].as_field_group()), "left") == ["id_left_unit"]


def test_answers_are_a_group_with_a_legend(refused):
    """Radio answers are one group named by the question and described by its error."""
    html = str(refused["slides"].as_field_group())
    assert re.search(r'<fieldset aria-describedby="id_slides_error">\s*<legend>\s*Does it slide\?', html)
    assert 'class="choices"' in html


def test_a_tick_has_its_label_around_it(refused):
    """The whole row of a single box can be tapped."""
    html = str(refused["agree"].as_field_group())
    assert re.search(
        r'<label for="id_agree"><input[^>]*name="agree"[^>]*> <span>I have read the cautions</span></label>', html
    )


def test_every_error_is_in_the_summary_and_leads_to_an_input(refused):
    """The summary lists field and form errors, and each link leads to something that takes focus."""
    html = str(refused)
    links = re.findall(r'<a href="#([^"]+)">', html)
    assert links == ["id_spacers", "id_slides_0", "id_agree"]
    for target in links:
        assert re.search(rf'<input[^>]*id="{target}"', html)
    assert html.count("The two do not fit together") == 1


def test_a_form_without_errors_has_no_summary():
    """Nothing asks for attention before anything was sent."""
    assert "error-summary" not in str(Measures())


def test_hidden_fields_are_written_once():
    """A hidden field has no group, but it is there."""
    assert str(Measures()).count('name="token"') == 1


def test_optional_is_said_unless_the_form_says_otherwise():
    """Public forms mark what may stay empty; the bench, where all may, does not repeat it."""
    assert "(optional)" in str(Measures()["notes"].as_field_group())
    assert "(optional)" not in str(Measures()["spacers"].as_field_group())
    assert "(optional)" not in str(Bench()["left"].as_field_group())


def test_a_hidden_label_is_still_there_for_screen_readers():
    """In a table the label is unseen, never missing."""
    assert re.search(r'<label for="id_left" class="visually-hidden">\s*Left', str(Bench()["left"].as_field_group()))


def test_two_forms_on_a_page_share_no_id():
    """With prefixes, neither fields nor summaries of two forms collide."""
    html = "".join(str(Measures({}, prefix=prefix)) for prefix in ("saddle", "bars"))
    ids = re.findall(r'\sid="([^"]+)"', html)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("evil", ["<script>alert(1)</script>", '" autofocus onfocus="x'])
def test_what_was_typed_is_escaped(evil):
    """Markup comes back as text."""
    html = str(Measures({"spacers": evil}))
    assert evil not in html


def test_a_field_of_its_own_can_leave_out_that_it_is_optional():
    """A choice that always has a value says nothing of the kind; its neighbours still do."""
    form = Measures()
    optional = next(name for name, field in form.fields.items() if not field.required)
    assert "(optional)" in str(form[optional].as_field_group())
    form.fields[optional].mark_optional = False
    assert "(optional)" not in str(form[optional].as_field_group())
