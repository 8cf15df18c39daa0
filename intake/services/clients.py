"""Keep what the studio corrects about a rider, and let what is still to be sent follow."""

from django.db import transaction

from intake.models import Client, OutgoingMail
from intake.models.mail import MailState

NOT_GONE = (MailState.QUEUED, MailState.FAILED)


@transaction.atomic
def save_client(*, client: Client) -> None:
    """Keep a client; mails that have not gone yet go to the address as it is now."""
    client.save()
    OutgoingMail.objects.filter(client=client, state__in=NOT_GONE).exclude(to=client.email).update(to=client.email)
