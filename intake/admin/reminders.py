"""What riders were reminded of."""

from django.contrib import admin

from intake.edge.admin import KeptAdmin
from intake.models import Reminder


@admin.register(Reminder)
class ReminderAdmin(KeptAdmin):
    """All reminders: which occasion, for the session of which day, and the mail."""

    list_display = ["pre_visit", "occasion", "starts_on", "reminded_on", "mail"]
    list_filter = ["reminded_on", "starts_on"]
    list_select_related = ["pre_visit__client", "pre_visit__bike", "mail"]
    search_fields = ["pre_visit__client__search_text", "occasion"]
    date_hierarchy = "reminded_on"
