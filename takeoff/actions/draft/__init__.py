"""A draft of a job: every sheet of the set read, on every core, and taken as far as it says."""
