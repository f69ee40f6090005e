"""Home-mixed milk for orphan lambs and kids: designed, checked and costed."""
