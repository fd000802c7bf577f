"""The job value, its edits, its history and its file.

An `EditError` is an edit that does not fit the job: it says what there is. A `StoreError` is a file that cannot be read
or written, or is damaged. After either nothing is changed. ``who`` and ``at``, ISO 8601, are for the journal,
``sources`` the bytes of plan files by SHA-256.
"""
