"""What remedies cost at each studio."""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from sessions.models import RemedyCosts


@admin.register(RemedyCosts)
class RemedyCostsAdmin(admin.ModelAdmin):
    """Bands in money; the remedies that differ are set on the owner's page of costs and days."""

    list_display = ["studio", "low_from", "low_to", "middle_from", "middle_to", "high_from", "high_to"]
    list_select_related = ["studio"]
    search_fields = ["studio__name"]
    readonly_fields = ["terms"]
    fieldsets = [
        (None, {"fields": ["studio"]}),
        (_("Low"), {"fields": ["low_from", "low_to"]}),
        (_("Middle"), {"fields": ["middle_from", "middle_to"]}),
        (_("High"), {"fields": ["high_from", "high_to"]}),
        (_("Remedies that differ here"), {"fields": ["terms"]}),
    ]
