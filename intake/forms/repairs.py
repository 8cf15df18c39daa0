"""How a rider says that something has been put right."""

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from intake.models.repairs import DoneBy
from intake.services.photos import LARGEST_BYTES, NotAPictureError, Picture, TooManyPixelsError, rewritten
from intake.services.repairs import LONGEST_NOTE


class PhotoField(forms.FileField):
    """A picture, as it will be kept."""

    default_error_messages = {
        "empty": _("That file is empty. Please choose the photo again."),
        "large": _("That photo is too large. Please choose one of at most 15 MB."),
        "pixels": _("That photo has too many pixels to be read. Please choose a smaller one."),
        "unreadable": _("That is no photo that can be read. JPEG, PNG, WebP and HEIC can; please choose another."),
    }

    def __init__(self, **kwargs: object) -> None:
        """Offer pictures, the camera included."""
        super().__init__(
            widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,image/heif"}), **kwargs
        )

    def clean(self, data: UploadedFile | None, initial: object = None) -> Picture | None:
        """Return the picture written anew, None without one."""
        file = super().clean(data, initial)
        if not file:
            return None
        if file.size > LARGEST_BYTES:
            raise forms.ValidationError(self.error_messages["large"], code="large")
        try:
            return rewritten(file.read())
        except TooManyPixelsError:
            raise forms.ValidationError(self.error_messages["pixels"], code="pixels") from None
        except NotAPictureError:
            raise forms.ValidationError(self.error_messages["unreadable"], code="unreadable") from None


class FixedForm(forms.Form):
    """Who has put it right, with a note and a photo for the studio."""

    done_by = forms.ChoiceField(
        label=_("Who did it?"),
        choices=[(DoneBy.RIDER.value, _("I did, or a friend")), (DoneBy.WORKSHOP.value, _("A workshop"))],
        widget=forms.RadioSelect,
        error_messages=dict.fromkeys(("required", "invalid_choice"), _("Say who did it.")),
    )
    note = forms.CharField(
        label=_("What was done?"),
        help_text=_("A few words help the studio: what was loosened, replaced or still feels odd."),
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    photo = PhotoField(
        label=_("A photo"),
        help_text=_(
            "Only the studio sees it. Where and when it was taken is removed, and it is deleted with your data."
        ),
        required=False,
    )
