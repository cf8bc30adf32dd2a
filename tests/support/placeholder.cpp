namespace limegate::test {}
