"""The guide that ships with the program: its topics, their texts, and one page of them all."""
