"""What remedies cost at each studio."""

from django.contrib import admin

from sessions.models import RemedyCosts


@admin.register(RemedyCosts)
class RemedyCostsAdmin(admin.ModelAdmin):
    """Bands in money and own terms; owners have a page of their own for both."""

    list_display = ["studio", "low_from", "low_to", "middle_from", "middle_to", "high_from", "high_to"]
    search_fields = ["studio__name"]
