app_name = "review"
urlpatterns = []
