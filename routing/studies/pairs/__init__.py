"""All pairs of sites: seconds, transfers, exposure and margins, each way."""
