"""Before there is a system: the survey of the site, the firm's prices, and the proposal."""
