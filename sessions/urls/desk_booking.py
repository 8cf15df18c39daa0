app_name = "desk_booking"
urlpatterns = []
