"""Monthly trends: measures, their limits and changes, the pages and tables that tell of them."""
