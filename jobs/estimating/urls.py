"""Addresses: what hours say about norms, and how good the figures were."""

from django.urls import URLPattern, path

from jobs.estimating import bringing, views

urlpatterns: list[URLPattern] = [
    path("norms-learned/", views.learned, name="norms-learned"),
    path("norms-learned/bring-in/", bringing.bring_in, name="norms-bring-in"),
    path("norms-learned/bring-in/<int:pk>/take-back/", bringing.take_back, name="norms-take-back"),
    path("norms/<slug:code>/hours/", views.norm_hours, name="norm-hours"),
    path("norms/<slug:code>/accept/", views.accept, name="norm-accept"),
    path("norms/<slug:code>/keep/", views.keep, name="norm-keep"),
    path("norms-learned/log/<int:pk>/leave-out/", views.leave_out, name="norm-log-leave-out"),
    path("norms-learned/log/<int:pk>/count/", views.count_again, name="norm-log-count"),
    path("figures-held/", views.held, name="hours-held"),
]
