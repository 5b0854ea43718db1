"""Paper: build sheet and template as PDF, set by typst. Views only: every number comes from an assessment or a plan."""
