from django.urls import path

from seasonplan.academy import consent_views, record_views, settings_views, views

urlpatterns = [
    path("me/", views.me, name="me"),
    path("me/leave/<int:membership_id>/", views.leave, name="leave"),
    path("people/", views.people, name="people"),
    path("people/settings/", settings_views.settings, name="academy-settings"),
    path("people/record/", record_views.change_record, name="change-record"),
    path("people/invite/", views.invite, name="invite"),
    path("people/invitations/<int:invitation_id>/", views.invitation_link, name="invitation-link"),
    path(
        "people/invitations/<int:invitation_id>/new-link/",
        views.new_link,
        name="invitation-new-link",
    ),
    path(
        "people/invitations/<int:invitation_id>/withdraw/",
        views.withdraw,
        name="invitation-withdraw",
    ),
    path("people/members/<int:membership_id>/", views.member, name="member"),
    path("people/members/<int:membership_id>/hand-over/", views.hand_over, name="member-hand-over"),
    path("people/members/<int:membership_id>/role/", views.role, name="member-role"),
    path("people/members/<int:membership_id>/let-in/", views.let_in, name="member-let-in"),
    path("people/members/<int:membership_id>/remove/", views.remove_member, name="member-remove"),
    path("invitations/<str:token>/", views.invitation, name="invitation"),
    path("players/new/", views.new_player, name="player-new"),
    path("players/<int:player_id>/edit/", views.edit_player, name="player-edit"),
    path("players/<int:player_id>/consent/", consent_views.consent, name="consent"),
    path("players/<int:player_id>/consent/ask/", consent_views.ask, name="consent-ask"),
]
