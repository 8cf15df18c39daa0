app_name = "desk_check"
urlpatterns = []
