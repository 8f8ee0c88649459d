"""What is knitted, as frozen values: chart, yarn, gauge, construction; their files and measures."""
