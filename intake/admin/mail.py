"""The outbox: what was written, whether it went, and trying again."""

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import KeptAdmin, KeptInline
from intake.models import MailAttachment, OutgoingMail
from intake.models.mail import MailState


class AttachmentInline(KeptInline):
    """The files that go with a mail, by name."""

    model = MailAttachment
    fields = ["filename", "media_type"]


@admin.register(OutgoingMail)
class OutgoingMailAdmin(KeptAdmin):
    """The outbox: what was written, whether it went, and trying again."""

    list_display = ["subject", "to", "state", "attempts", "created_at", "send_after", "sent_at"]
    list_filter = ["state", "created_at"]
    search_fields = ["to", "subject", "client__search_text"]
    date_hierarchy = "created_at"
    fieldsets = [
        (None, {"fields": ["client", "to", "subject", "body"]}),
        (_("Sending"), {"fields": ["state", "send_after", "sent_at", "attempts", "last_error"]}),
        (_("Occasion"), {"fields": ["key", "created_at"]}),
    ]
    inlines = [AttachmentInline]
    actions = ["try_again", "drop"]

    @admin.action(description=_("Try the chosen mails again"), permissions=["delete"])
    def try_again(self, request: HttpRequest, mails: QuerySet[OutgoingMail]) -> None:
        """Put those that were given up or dropped back into the queue; the worker's next sweep sends them."""
        back = mails.filter(state__in=[MailState.FAILED, MailState.DROPPED])
        count = back.update(state=MailState.QUEUED, attempts=0, send_after=None)
        self.message_user(request, _("Mails back in the queue: %(count)d.") % {"count": count})

    @admin.action(description=_("Do not send the chosen mails"), permissions=["delete"])
    def drop(self, request: HttpRequest, mails: QuerySet[OutgoingMail]) -> None:
        """Drop those that have not been sent."""
        count = mails.exclude(state=MailState.SENT).update(state=MailState.DROPPED)
        self.message_user(request, _("Mails dropped: %(count)d.") % {"count": count})


@admin.register(MailAttachment)
class MailAttachmentAdmin(KeptAdmin):
    """Files that went with mails; their content is opened on the desk's mail page."""

    list_display = ["filename", "media_type", "mail"]
    list_filter = ["media_type"]
    list_select_related = ["mail"]
    search_fields = ["filename", "mail__to", "mail__subject"]
    fields = ["mail", "filename", "media_type"]

    def get_queryset(self, request: HttpRequest) -> QuerySet[MailAttachment]:
        """Leave the content in the database."""
        return super().get_queryset(request).defer("content")
