from __future__ import annotations

from django.urls import path

from portal.review import carrying, comparing, deck, eve, timing, views

app_name = "review"
urlpatterns = [
    path("clips/<uuid:code>/", views.bench, name="bench"),
    path("sessions/<uuid:code>/deck/", deck.sheet, name="deck"),
    path("sessions/<uuid:code>/deck/<uuid:swimmer>/", deck.notes, name="deck_notes"),
    path("deck-notes/<uuid:code>/", deck.take_out, name="take_out"),
    path("technique/<slug:stroke>/words.json", views.words, name="words"),
    path("clips/<uuid:code>/marks/", timing.marks, name="marks"),
    path("marks/<uuid:code>/", timing.change_mark, name="change_mark"),
    path("clips/<uuid:code>/beside/", comparing.other, name="beside"),
    path("clips/<uuid:code>/comments/", views.write, name="write"),
    path("clips/<uuid:code>/comments.json", views.said, name="said"),
    path("clips/<uuid:code>/comments.vtt", carrying.vtt, name="vtt"),
    path("clips/<uuid:code>/comments.jsonld", carrying.linked, name="annotations"),
    path("comments/<uuid:code>/", views.change, name="change"),
    path("comments/<uuid:code>/drop/", views.drop, name="drop"),
    path("comments/<uuid:code>/repeat/", views.repeat, name="repeat"),
    path("comments/<uuid:code>/restore/", views.restore, name="restore"),
    path("reviews/<uuid:code>/publish/", eve.publish, name="publish"),
    path("reviews/<uuid:code>/take-back/", eve.take_back, name="take_back"),
    path("reviews/<uuid:code>/hand-over/", eve.hand_over, name="hand_over"),
]
