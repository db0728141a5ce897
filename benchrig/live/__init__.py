"""The guided bench: from the first prompt to the record, while the airframe is in the hands."""
