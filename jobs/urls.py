"""Addresses of the steps of a job, in their order; each step names its own paths in full."""

from django.urls import include, path

urlpatterns = [
    path("", include("jobs.intake.urls")),
    path("", include("jobs.assessment.urls")),
    path("", include("jobs.operations.urls")),
    path("", include("jobs.estimating.urls")),
    path("", include("jobs.quoting.urls")),
    path("", include("jobs.worklist.urls")),
    path("", include("jobs.supplies.urls")),
    path("", include("jobs.scheduling.urls")),
    path("", include("jobs.hours.urls")),
    path("", include("jobs.billing.urls")),
    path("", include("jobs.verification.urls")),
    path("", include("jobs.updates.urls")),
    path("", include("jobs.portal.urls")),
    path("", include("jobs.desk.urls")),
]
