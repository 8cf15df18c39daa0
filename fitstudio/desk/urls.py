"""The staff's own pages: the day, the clients, the outbox, the studio."""

from django.urls import path

from fitstudio.desk.views import bikes, clients, home, links, mail, studio

app_name = "desk"
urlpatterns = [
    path("", home.home, name="home"),
    path("clients/", clients.clients, name="clients"),
    path("clients/<int:pk>/", clients.client, name="client"),
    path("clients/<int:pk>/edit/", clients.edit_client, name="edit_client"),
    path("clients/<int:pk>/bikes/new/", bikes.new_bike, name="new_bike"),
    path("clients/<int:pk>/bikes/<int:bike_pk>/", bikes.edit_bike, name="edit_bike"),
    path("links/<int:pre_visit_pk>/renew/", links.renew, name="renew_link"),
    path("links/<int:pre_visit_pk>/revoke/", links.revoke, name="revoke_links"),
    path("mail/", mail.mail, name="mail"),
    path("mail/<int:pk>/again/", mail.send_again, name="send_again"),
    path("mail/attachments/<int:pk>/", mail.attachment, name="attachment"),
    path("studio/", studio.studio, name="studio"),
]
