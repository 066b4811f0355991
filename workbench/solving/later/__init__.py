"""Later visits: what each reading should be by the solved model, and what may have changed where it is not."""
