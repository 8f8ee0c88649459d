"""What several tests use: pictures, pages, shelves and readers made for them."""
