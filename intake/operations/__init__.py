"""Running the shop's machine: backups by schedule, the doctor, metrics, logs, exports."""
