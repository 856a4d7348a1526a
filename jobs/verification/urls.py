"""Addresses: readings before and after, targets, the proof."""

from django.urls import URLPattern, path

from jobs.verification import views

urlpatterns: list[URLPattern] = [
    path("jobs/<int:pk>/proof/", views.show, name="proof-show"),
    path("jobs/<int:pk>/proof/start/", views.start, name="proof-start"),
    path("jobs/<int:pk>/proof/sign/", views.sign, name="proof-sign"),
    path("jobs/<int:pk>/proof/proof.pdf", views.pdf, name="proof-pdf"),
    path("jobs/<int:pk>/targets/", views.target, name="target-set"),
]
