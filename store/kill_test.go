package store

const childEnv = "UNDERPIN_STORE_CHILD"

func child() {}
