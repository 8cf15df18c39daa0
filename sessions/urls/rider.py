app_name = "rider"
urlpatterns = []
