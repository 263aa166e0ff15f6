package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"strings"

	"underpin/fleet"
	"underpin/record"
)

type userCmd struct {
	Add   userAddCmd   `cmd:"" help:"Add a person, and print the one-time link with which they set their password."`
	List  userListCmd  `cmd:"" help:"List the people, with their roles."`
	Role  userRoleCmd  `cmd:"" help:"Say what a person may do from now on."`
	Link  userLinkCmd  `cmd:"" help:"Print a new one-time link, for whoever forgot their password."`
	Close userCloseCmd `cmd:"" help:"Close an account: it signs in no more; what it entered stays."`
}

const roleHelp = "driver, technician, planner, engineer, manager or auditor"

// origin is the address that people use, for links that are passed on.
type origin struct {
	URL string `name:"url" help:"Address that people use." placeholder:"URL" env:"UNDERPIN_URL" default:"http://127.0.0.1:8417"`
}

func (o *origin) link(secret string) string {
	return strings.TrimSuffix(o.URL, "/") + "/welcome?" + url.Values{"link": {secret}}.Encode()
}

func (o *origin) print(p *program, name, secret string, asJSON bool) error {
	if asJSON {
		return p.printJSON(map[string]string{"login": name, "link": o.link(secret)})
	}
	fmt.Fprintf(p.out, "The password of %s is set here; the link works once, within three days:\n  %s\n", name, o.link(secret))
	return nil
}

// depots are those that an account is limited to.
type depots struct {
	Depot []string `help:"Depot that the account is limited to, by its name; may be given several times. Left out: all." placeholder:"NAME" sep:"none"`
}

func (d *depots) assets(ctx context.Context, r *fleet.Register) ([]record.Asset, error) {
	var all []record.Asset
	for _, name := range d.Depot {
		a, err := r.DepotOf(ctx, name)
		if err != nil {
			return nil, err
		}
		all = append(all, a)
	}
	return all, nil
}

type userAddCmd struct {
	where
	origin
	depots
	Login    string   `arg:"" help:"What they sign in with, such as ann or ann@depot.example."`
	Name     string   `help:"Their name." placeholder:"NAME" required:""`
	Role     []string `help:"What they may do: ${roles}; may be given several times." required:"" placeholder:"ROLE"`
	Language string   `help:"Language of the pages, where there is a choice." placeholder:"en"`
	JSON     bool     `name:"json" help:"Print the link as JSON."`
}

func (c *userAddCmd) Run(p *program) error {
	return c.withRegister(func(ctx context.Context, r *fleet.Register) error {
		at, err := c.assets(ctx, r)
		if err != nil {
			return err
		}
		done, err := r.Do(ctx, &fleet.AddAccount{Name: c.Name, Login: c.Login, Language: c.Language, Roles: c.Role, Depots: at})
		if err != nil {
			return err
		}
		return c.print(p, c.Login, done.Secret, c.JSON)
	})
}

type userListCmd struct {
	where
	All  bool `help:"List closed accounts too."`
	JSON bool `name:"json" help:"Print the list as JSON."`
}

// A listedUser is one person as the list shows them.
type listedUser struct {
	Login  string   `json:"login"`
	Name   string   `json:"name"`
	Roles  []string `json:"roles"`
	Status string   `json:"status"`
}

func (c *userListCmd) Run(p *program) error {
	return c.withRegister(func(ctx context.Context, r *fleet.Register) error {
		q := fleet.ListQuery{Kind: record.AccountAsset, Status: []string{record.StatusActive}, Limit: 500}
		if c.All {
			q.Status = nil
		}
		people := []listedUser{}
		for {
			page, err := r.List(ctx, q)
			if err != nil {
				return err
			}
			for _, i := range page.Items {
				u := listedUser{Name: i.Title, Status: i.Status}
				line, err := json.Marshal(i.Line)
				if err != nil {
					return err
				}
				if err := json.Unmarshal(line, &u); err != nil {
					return err
				}
				people = append(people, u)
			}
			if q.From = page.Next; q.From == "" {
				break
			}
		}
		if c.JSON {
			return p.printJSON(people)
		}
		if len(people) == 0 {
			fmt.Fprintln(p.out, "There is no account yet.")
		}
		for _, u := range people {
			text := u.Name + ": " + strings.Join(u.Roles, ", ")
			if u.Status != record.StatusActive {
				text += " (" + u.Status + ")"
			}
			paragraph(p.out, pad(clip(u.Login, 24), 24)+" ", strings.Repeat(" ", 25), text)
		}
		return nil
	})
}

// withAccount does something with an account that is found by its login.
func (w *where) withAccount(login string, fn func(ctx context.Context, r *fleet.Register, page *fleet.AccountPage) error) error {
	return w.withRegister(func(ctx context.Context, r *fleet.Register) error {
		a, err := r.AccountOf(ctx, login)
		if err != nil {
			return err
		}
		page, err := r.AccountPage(ctx, a)
		if err != nil {
			return err
		}
		return fn(ctx, r, page)
	})
}

type userRoleCmd struct {
	where
	Login     string   `arg:"" help:"What they sign in with."`
	Role      []string `arg:"" help:"All that they may do: ${roles}."`
	Depot     []string `help:"Depot that the account is limited to, by its name; may be given several times. Left out: as before." placeholder:"NAME" sep:"none"`
	AllDepots bool     `help:"The account is no longer limited to depots."`
}

func (c *userRoleCmd) Run(p *program) error {
	return c.withAccount(c.Login, func(ctx context.Context, r *fleet.Register, page *fleet.AccountPage) error {
		at, err := (&depots{c.Depot}).assets(ctx, r)
		switch {
		case err != nil:
			return err
		case c.AllDepots && len(at) > 0:
			return &usageError{"--depot and --all-depots do not go together"}
		case !c.AllDepots && len(at) == 0:
			at = page.Account.Depots
		}
		done, err := r.Do(ctx, &fleet.Permit{Account: page.Account.Asset, Version: page.Version, Roles: c.Role, Depots: at})
		if err != nil {
			return err
		}
		if done.Record == "" {
			fmt.Fprintf(p.out, "%s may do so already.\n", c.Login)
			return nil
		}
		where := "at all depots"
		switch {
		case len(c.Depot) > 0:
			where = "at " + strings.Join(c.Depot, ", ")
		case len(at) > 0:
			where = "at the depots of before"
		}
		paragraph(p.out, "", "", fmt.Sprintf("%s is from now on: %s, %s.", c.Login, strings.Join(c.Role, ", "), where))
		return nil
	})
}

type userLinkCmd struct {
	where
	origin
	Login string `arg:"" help:"What they sign in with."`
	JSON  bool   `name:"json" help:"Print the link as JSON."`
}

func (c *userLinkCmd) Run(p *program) error {
	return c.withAccount(c.Login, func(ctx context.Context, r *fleet.Register, page *fleet.AccountPage) error {
		secret, err := r.NewLink(ctx, page.Account.Asset)
		if err != nil {
			return err
		}
		return c.print(p, c.Login, secret, c.JSON)
	})
}

type userCloseCmd struct {
	where
	Login  string `arg:"" help:"What they sign in with."`
	Reason string `help:"Why, for the record." placeholder:"TEXT"`
}

func (c *userCloseCmd) Run(p *program) error {
	return c.withAccount(c.Login, func(ctx context.Context, r *fleet.Register, page *fleet.AccountPage) error {
		_, err := r.Do(ctx, &fleet.CloseAccount{Meta: fleet.Meta{Reason: c.Reason}, Account: page.Account.Asset})
		if err == nil {
			fmt.Fprintf(p.out, "%s signs in no more.\n", c.Login)
		}
		return err
	})
}
