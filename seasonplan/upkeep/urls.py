from django.urls import path

from seasonplan.upkeep import data_views, erasing_views, metrics_views

urlpatterns = [
    path("metrics", metrics_views.metrics, name="metrics"),
    path("me/data/", data_views.my_data, name="my-data"),
    path("me/data/file/", data_views.my_file, name="my-data-file"),
    path("me/data/erasure/", erasing_views.ask_for_me, name="my-erasure"),
    path("players/<int:player_id>/data/", data_views.player_data, name="player-data"),
    path("players/<int:player_id>/data/file/", data_views.player_file, name="player-data-file"),
    path(
        "players/<int:player_id>/data/erasure/",
        erasing_views.ask_for_player,
        name="player-erasure",
    ),
    path("players/<int:player_id>/erase/", erasing_views.erase_a_player, name="player-erase"),
    path("people/erasures/", erasing_views.erasure_requests, name="erasure-requests"),
    path(
        "people/members/<int:membership_id>/erase/",
        erasing_views.erase_a_member,
        name="member-erase",
    ),
]
