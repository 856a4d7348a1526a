"""The shop itself: name, address, opening hours, rates and tax habits. One row, edited by the manager."""
