"""Design, dial back and hand over active sub-slab depressurisation systems."""
