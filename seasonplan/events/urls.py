from django.urls import path

from seasonplan.events import views

urlpatterns = [
    path("events/", views.calendar, name="calendar"),
    path("events/calendar.csv", views.calendar_csv, name="calendar-csv"),
    path("events/calendar.xlsx", views.calendar_workbook, name="calendar-workbook"),
    path("events/new/", views.new_event, name="event-new"),
    path("events/<int:event_id>/", views.event, name="event"),
    path("events/<int:event_id>/edit/", views.edit_event, name="event-edit"),
    path("events/<int:event_id>/delete/", views.delete_event, name="event-delete"),
    path("events/import/", views.imports, name="event-import"),
    path("events/import/<int:import_id>/", views.one_import, name="import"),
    path("events/import/<int:import_id>/confirm/", views.confirm_import, name="import-confirm"),
    path("events/import/<int:import_id>/undo/", views.undo_import, name="import-undo"),
    path("events/import/<int:import_id>/discard/", views.discard_import, name="import-discard"),
    path("places/", views.places, name="place-search"),
    path("places/<int:place_id>/", views.edit_place, name="place-edit"),
]
