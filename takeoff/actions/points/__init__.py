"""What open points are derived from: values with a basis, sheets and scales, what measuring and pricing says."""
