"""Two productions on one machine, and what must not be mistaken for a third."""


def test_in_the_folder_of_a_production_its_own_vault_is_meant(desk, play):
    matinee = desk.root / "matinee"
    (matinee / "acts").mkdir(parents=True)
    (matinee / "play.json").write_bytes(play)
    desk.save("play.json", play)
    for folder in (desk.shows, matinee):
        assert desk.run("snapshot", folder).code == 0
    for folder in (matinee, matinee / "acts"):
        answer = desk.run("settings", cwd=folder)
        assert answer.code == 0 and "matinee" in answer.out
    answer = desk.run("list", cwd=desk.root)
    assert answer.code == 2
    assert all(name in answer.err for name in ("matinee", "shows", "--vault"))


def test_a_folder_without_a_save_gets_no_vault(desk, play):
    desk.save("play.json", play)
    assert desk.run("snapshot", desk.shows).code == 0
    empty = desk.root / "empty"
    empty.mkdir()
    answer = desk.run("snapshot", empty)
    assert answer.code == 4 and "no save" in answer.err
    assert desk.run("list", cwd=empty).code == 0


def test_a_label_that_cannot_be_asked_for_is_given_and_told(desk, play, edited):
    desk.snapshot("play.json", play)
    desk.snapshot("play.json", edited(65))
    assert "version 2" in desk.do("label", "1", "latest").err
    assert desk.do("label", "1", "first preview").err == ""
    assert desk.restored("latest") == edited(65)
    assert desk.restored("first preview") == play
