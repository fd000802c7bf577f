"""Door and finish schedules of text sheets, and what they say of the doors and rooms of a job."""
