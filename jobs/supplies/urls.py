"""Addresses: what jobs need, and what orders do to it (sending, arriving, calling off)."""

from django.urls import path

from jobs.supplies.views import needs, orders, parts

urlpatterns = [
    path("parts/needs/", needs.needs_list, name="needs-list"),
    path("parts/needs/order/", needs.need_order, name="need-order"),
    path("parts/needs/<int:pk>/shelf/", needs.need_shelf, name="need-shelf"),
    path("parts/needs/<int:pk>/measure/", needs.need_measure, name="need-measure"),
    path("parts/needs/<int:pk>/drop/", needs.need_drop, name="need-drop"),
    path("parts/part/<slug:code>/", parts.part_show, name="part-show"),
    path("parts/orders/<int:pk>/send/", orders.order_send, name="order-send"),
    path("parts/orders/<int:pk>/call-off/", orders.order_cancel, name="order-cancel"),
    path("parts/orders/line/<int:pk>/arrived/", orders.order_receive, name="order-receive"),
]
