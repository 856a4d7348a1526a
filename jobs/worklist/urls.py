"""Addresses: jobs, tasks, variations."""

from django.urls import URLPattern, path

from jobs.worklist.views import jobs, variations

urlpatterns: list[URLPattern] = [
    path("jobs/<int:pk>/", jobs.show, name="job-show"),
    path("jobs/<int:pk>/book-in/", jobs.book_in, name="job-book-in"),
    path("jobs/<int:pk>/return/", jobs.go_home, name="job-return"),
    path("jobs/<int:pk>/card.pdf", jobs.card, name="job-card-pdf"),
    path("tasks/<int:pk>/", jobs.task, name="task-show"),
    path("jobs/<int:pk>/found/", variations.report, name="variation-report"),
    path("variations/<int:pk>/", variations.show, name="variation-show"),
    path("variations/<int:pk>/price/", variations.price, name="variation-price"),
    path("variations/<int:pk>/send/", variations.send, name="variation-send"),
    path("variations/<int:pk>/answer/", variations.answer, name="variation-answer"),
    path("variations/<int:pk>/withdraw/", variations.withdraw, name="variation-withdraw"),
    path("variations/<int:pk>/variation.pdf", variations.pdf, name="variation-pdf"),
]
