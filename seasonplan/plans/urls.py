from django.urls import path

from seasonplan.plans import (
    calendar_views,
    compare_views,
    download_views,
    edit_views,
    feed_views,
    match_views,
    price_views,
    replan_views,
    shape_views,
    trip_views,
    views,
)

urlpatterns = [
    path("plans/<int:plan_id>/", views.season, name="season"),
    path("plans/<int:plan_id>/lay-out/", views.lay_out, name="lay-out"),
    path("plans/<int:plan_id>/limits/", views.limits, name="limits"),
    path("plans/<int:plan_id>/events/", views.choose, name="choose-events"),
    path("plans/<int:plan_id>/events/<int:event_id>/", views.event, name="planned-event"),
    path(
        "plans/<int:plan_id>/events/<int:event_id>/costs/", trip_views.trip_cost, name="trip-cost"
    ),
    path(
        "plans/<int:plan_id>/events/<int:event_id>/price/",
        price_views.event_price,
        name="event-price",
    ),
    path(
        "plans/<int:plan_id>/events/<int:event_id>/stand-ins/",
        price_views.event_stand_ins,
        name="event-stand-ins",
    ),
    path("plans/<int:plan_id>/prices/", price_views.prices, name="plan-prices"),
    path(
        "plans/<int:plan_id>/prices/limits/<str:key>/", price_views.limit_price, name="limit-price"
    ),
    path("plans/<int:plan_id>/levels/", views.levels, name="level-worths"),
    path("plans/<int:plan_id>/edit/", edit_views.edit, name="plan-edit"),
    path("plans/<int:plan_id>/blocks/<str:monday>/", edit_views.block, name="plan-block"),
    path("plans/<int:plan_id>/history/", edit_views.plan_history, name="plan-history"),
    path("plans/<int:plan_id>/name/", edit_views.name, name="plan-name"),
    path("plans/<int:plan_id>/copy/", edit_views.copy, name="plan-copy"),
    path("plans/<int:plan_id>/shapes/", shape_views.plan_shapes, name="plan-shapes"),
    path("plans/<int:plan_id>/re-plan/", replan_views.re_plan, name="plan-re-plan"),
    path("plans/<int:plan_id>/matches/", match_views.plan_matches, name="plan-matches"),
    path("plans/<int:plan_id>/in-force/", views.in_force, name="plan-in-force"),
    path("plans/<int:plan_id>/compare/", compare_views.choose, name="plan-compare-choose"),
    path("plans/<int:plan_id>/compare/<int:other_id>/", compare_views.compare, name="plan-compare"),
    path("plans/<int:plan_id>/changes/", compare_views.changes, name="plan-changes"),
    path("plans/<int:plan_id>/carried/<int:row_id>/", views.carried_over, name="carried-over"),
    path("plans/<int:plan_id>/calendar-seen/", calendar_views.seen, name="calendar-seen"),
    path("plans/<int:plan_id>/delete/", views.delete, name="plan-delete"),
    path("plans/<int:plan_id>/season.json", views.season_file, name="season-file"),
    path("plans/<int:plan_id>/season.xlsx", download_views.workbook, name="season-workbook"),
    path("plans/<int:plan_id>/events.csv", download_views.events_csv, name="season-events-csv"),
    path("plans/<int:plan_id>/blocks.csv", download_views.blocks_csv, name="season-blocks-csv"),
    path("me/calendar/", feed_views.my_calendar, name="my-calendar"),
    path("me/calendar/take-back/", feed_views.take_back, name="my-calendar-take-back"),
    path("feeds/<str:token>.ics", feed_views.feed, name="feed"),
]
