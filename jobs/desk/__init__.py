"""The staff's own pages: Today for the manager and for the technician."""
