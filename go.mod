module underpin

go 1.26
