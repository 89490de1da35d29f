"""Return times: from every grip to the airlock, alone and with a partner in tow."""
