"""Web: the workbench's server. It translates only: requests into questions to folder/, answers into pages."""
