"""A gauge's dialect as declared: profile files to checked records."""
