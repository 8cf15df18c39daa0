"""What a worker puts right from time to time: mail that is due again, tasks that a dead worker left, verdicts of another day."""

from datetime import timedelta

from django.core.management import call_command
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from intake.services.editions import keep_current_version
from intake.services.mail import waiting_mail
from intake.services.photos import forget_orphans
from intake.tasks import send_waiting_mail
from sessions.services.chasing.reminders import send_due_reminders
from sessions.services.review.moments import keep_due_moments
from sessions.services.review.summaries import refresh_stale

# Longer than any task of ours runs: whoever claimed it is gone.
ABANDONED_AFTER = timedelta(minutes=15)


def sweep() -> None:
    """Do all of it once."""
    requeue_abandoned_tasks()
    enqueue_due_mail()
    keep_current_version()
    refresh_stale()
    keep_due_moments()
    send_due_reminders()


def enqueue_due_mail() -> bool:
    """Have due mail sent where no task is waiting to do so; return whether one was added.

    A mail whose sending failed becomes due later, and nobody else would wake up for it.
    """
    waiting = DBTaskResult.objects.filter(task_path=send_waiting_mail.module_path, status=TaskResultStatus.READY)
    if not waiting_mail() or waiting.exists():
        return False
    send_waiting_mail.enqueue()
    return True


def requeue_abandoned_tasks() -> int:
    """Offer the tasks of dead workers again; return how many. Every task of ours may run twice unharmed."""
    abandoned = DBTaskResult.objects.running().filter(started_at__lt=timezone.now() - ABANDONED_AFTER)
    return abandoned.update(status=TaskResultStatus.READY)


def clear_out() -> None:
    """Forget the results of tasks that ended two weeks ago, log-ins that have expired, and photos that nobody owns."""
    call_command("prune_db_task_results", min_age_days=14, verbosity=0)
    call_command("clearsessions")
    forget_orphans()
