"""The window: a desk on which plans are measured. It holds no formula, and nothing that the job does not hold."""
