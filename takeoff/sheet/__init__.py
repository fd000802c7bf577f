"""Opening plan files: register, rendering, text, scale readers, calibration."""
