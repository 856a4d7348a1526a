"""Addresses: the Plan room."""

from django.urls import URLPattern, path

from jobs.scheduling import views

urlpatterns: list[URLPattern] = [
    path("plan/", views.show, name="plan-show"),
    path("plan/make/", views.make, name="plan-make"),
    path("plan/progress/", views.progress, name="plan-progress"),
    path("plan/weeks/", views.weeks, name="plan-weeks"),
    path("plan/stop/", views.stop, name="plan-stop"),
    path("plan/offered/", views.offered, name="plan-offered"),
    path("plan/offered/accept/", views.accept, name="plan-accept"),
    path("plan/offered/keep/", views.keep, name="plan-keep"),
    path("plan/tasks/", views.tasks, name="plan-tasks"),
    path("plan/tasks/<int:pk>/", views.task, name="plan-task"),
    path("plan/dates/<int:pk>/", views.date, name="plan-date"),
    path("plan/plan.csv", views.table, name="plan-csv"),
    path("plan/plan.ics", views.calendar, name="plan-calendar"),
    path("jobs/<int:pk>/promise/", views.promise, name="promise-give"),
]
