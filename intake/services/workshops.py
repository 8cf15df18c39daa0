"""Keep the studio's list of workshops."""

from django.db import IntegrityError, transaction

from intake.models import Workshop


class WorkshopKnownError(Exception):
    """A workshop of this name is in the list already."""


def save_workshop(*, workshop: Workshop) -> Workshop:
    """Keep a workshop; of two forms sent at once one is refused. Raises WorkshopKnownError."""
    same_name = Workshop.objects.filter(name__iexact=workshop.name).exclude(pk=workshop.pk)
    try:
        with transaction.atomic():
            workshop.save()
    except IntegrityError:
        if same_name.exists():
            raise WorkshopKnownError from None
        raise
    return workshop


def set_in_use(*, workshop: Workshop, in_use: bool) -> None:
    """Retire a workshop, or bring it back; its sheets stay as they are."""
    Workshop.objects.filter(pk=workshop.pk).update(is_active=in_use)
