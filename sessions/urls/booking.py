app_name = "booking"
urlpatterns = []
