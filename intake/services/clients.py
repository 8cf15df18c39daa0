"""Keep what the studio corrects about a rider, and let what is still to be sent follow."""

from django.db import transaction

from intake.models import Client, OutgoingMail
from intake.models.mail import MailState

NOT_GONE = (MailState.QUEUED, MailState.FAILED)


@transaction.atomic
def save_client(*, client: Client) -> None:
    """Keep a client; mails that have not gone yet go to the address as it is now."""
    before = Client.objects.filter(pk=client.pk).values_list("email", flat=True).first()
    client.save()
    if before and before != client.email:  # mail about the client that goes to somebody else stays with them
        OutgoingMail.objects.filter(client=client, to=before, state__in=NOT_GONE).update(to=client.email)
