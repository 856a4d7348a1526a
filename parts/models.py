"""Index of the models of this app: Django looks here. Nothing else."""

from parts.catalogue.models import Part, StockMove, Supplier
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from parts.scale.models import WireSize

__all__ = ["OrderLine", "Part", "PurchaseOrder", "Receipt", "StockMove", "Supplier", "WireSize"]
