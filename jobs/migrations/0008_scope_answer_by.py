from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0007_plans_offered")]

    operations = [
        migrations.AddField(
            model_name="scope",
            name="answer_by",
            field=models.DateField(
                blank=True, help_text="The last day of an answer for which the day above holds.", null=True
            ),
        ),
    ]
