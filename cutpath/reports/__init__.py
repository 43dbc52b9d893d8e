"""What is told of a finished nest: the yield account, cutting list, setting-out and the page to print."""
