package web

func (a *api) imports() {}
