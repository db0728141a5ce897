"""What people read: text, page, record file and JUnit, as pure functions of a BenchRecord."""
