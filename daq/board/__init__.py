"""What a person is shown now, as one plain record made after each step; views draw it. Pure."""
