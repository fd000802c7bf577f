"""Take a floor plan to a priced estimate of a resinous wall system."""
