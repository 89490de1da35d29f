"""Running studies: chunks of work in process, on worker processes or on a cluster, resumable."""
