"""Second ways to an answer, which the tests hold the program to: closed forms and a slower, fuller model."""
