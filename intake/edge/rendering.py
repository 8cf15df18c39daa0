"""How forms become HTML: one field group for the whole product, linked for screen readers."""

from django import forms
from django.forms.renderers import TemplatesSetting


class ProjectBoundField(forms.BoundField):
    """A field in a form, with what the project's field template wants to know about it."""

    @property
    def unit(self) -> str:
        """Return the unit written after the input, or nothing."""
        return getattr(self.field, "unit", "")

    @property
    def is_optional(self) -> bool:
        """Return whether the label says that the field may stay empty."""
        marks = getattr(self.field, "mark_optional", getattr(self.form, "mark_optional", True))
        return not self.field.required and marks

    @property
    def is_tick(self) -> bool:
        """Return whether the field is a single box to tick, whose label stands beside it."""
        return isinstance(self.field.widget, forms.CheckboxInput)

    @property
    def is_choices(self) -> bool:
        """Return whether the answers are a list of rows to choose from."""
        return isinstance(self.field.widget, forms.RadioSelect | forms.CheckboxSelectMultiple)

    @property
    def first_input_id(self) -> str:
        """Return the id that a link to this field leads to: its input, or the first of several."""
        return self.id_for_label or (f"{self.auto_id}_0" if self.auto_id else "")

    @property
    def aria_describedby(self) -> str | None:
        """Add the unit to what a screen reader reads after the label."""
        described = super().aria_describedby
        if described is None or not (self.unit and self.auto_id) or self.is_hidden:
            return described
        return f"{self.auto_id}_unit {described}".strip()


class ProjectFormRenderer(TemplatesSetting):
    """Take form templates from the project's folder first, Django's own otherwise."""

    form_template_name = "forms/form.html"
    field_template_name = "forms/field.html"
    bound_field_class = ProjectBoundField
