app_name = "check"
urlpatterns = []
