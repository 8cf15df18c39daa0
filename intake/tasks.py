"""Background work of the intake. A task holds no truth of its own: it drains the outbox, and may run twice unharmed."""

from django_tasks import task

from intake.services.mail import send_one, waiting_mail


@task()
def send_waiting_mail() -> int:
    """Send every mail that is due; return how many went."""
    return sum(send_one(mail_id) for mail_id in waiting_mail())
