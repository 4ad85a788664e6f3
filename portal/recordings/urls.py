from __future__ import annotations

from django.urls import path

from portal.recordings import bringing, days, handing, resuming, tending, views

app_name = "recordings"
urlpatterns = [
    path("sessions/", days.sessions, name="sessions"),
    path("sessions/new/", days.new_session, name="new_session"),
    path("sessions/<uuid:code>/", bringing.session, name="session"),
    path("sessions/<uuid:code>/change/", days.change_session, name="change_session"),
    path("sessions/<uuid:code>/call-off/", days.call_off, name="call_off"),
    path("sessions/<uuid:code>/upload/", bringing.upload, name="upload"),
    path("sessions/<uuid:code>/arrivals/", resuming.announce, name="announce"),
    path("arrivals/<uuid:code>/", resuming.arrival, name="arrival"),
    path("recordings/<uuid:code>/", views.sort, name="sorting"),
    path("recordings/<uuid:code>/state/", views.state, name="state"),
    path("recordings/<uuid:code>/again/", views.again, name="again"),
    path("recordings/<uuid:code>/throw-away/", views.throw_away, name="throw_away"),
    path("recordings/<uuid:code>/keep/", views.keep_from_families, name="keep_from_families"),
    path("recordings/<uuid:code>/cut/", views.cut, name="cut"),
    path("recordings/<uuid:code>/pass-over/", tending.pass_over, name="pass_over"),
    path("recordings/<uuid:code>/take-back/", tending.take_back, name="take_back"),
    path("recordings/<uuid:code>/pace/", tending.pace, name="pace"),
    path("recordings/<uuid:code>/strip.jpg", handing.strip, name="strip"),
    path("recordings/<uuid:code>/poster.jpg", handing.poster, name="poster"),
    path("clips/<uuid:code>/again/", views.copy_again, name="copy_again"),
    path("clips/<uuid:code>/recut/", tending.recut, name="recut"),
    path("clips/<uuid:code>/remove/", views.remove_clip, name="remove_clip"),
    path("copies/<uuid:code>/film.mp4", handing.film, name="film"),
    path("copies/<uuid:code>/times.json", handing.times, name="times"),
]
