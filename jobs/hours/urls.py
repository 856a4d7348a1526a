"""Addresses: the bench and the list of hours."""

from django.urls import URLPattern, path

from jobs.hours import house_views, views

urlpatterns: list[URLPattern] = [
    path("bench/", views.mine, name="bench-mine"),
    path("bench/stop/", views.stop, name="bench-stop"),
    path("bench/tasks/<int:pk>/", views.enter, name="bench-enter"),
    path("bench/tasks/<int:pk>/start/", views.start, name="bench-start"),
    path("bench/tasks/<int:pk>/close/", views.close, name="bench-close"),
    path("bench/tasks/<int:pk>/left/", views.left, name="bench-left"),
    path("bench/entries/<int:pk>/", views.correct, name="bench-correct"),
    path("assessments/<int:pk>/hours/", house_views.assessment_hours, name="assessment-hours"),
    path("jobs/<int:pk>/visits/", house_views.visits, name="job-visits"),
    path("hours/house/<int:pk>/take-back/", house_views.take_back, name="house-time-take-back"),
    path("hours/", views.hours_list, name="hours-list"),
]
